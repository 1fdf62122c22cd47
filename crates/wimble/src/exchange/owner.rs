//! Owner histories: IFC2X3 wants one on everything, later schemas leave it open.

use super::added::{Added, text, to, word};
use wimble_ifc::{Model, Schema, class};
use wimble_step::{NewValue, Row};

/// The owner history for what is added to a host: its own, else any of the file, else, where the
/// schema wants one, a new one that names the program.
pub(super) fn of_host(model: &Model<'_>, host: Row, added: &mut Added) -> NewValue {
    let own = model.reference(host, "OwnerHistory");
    let any = || model.rows_of_class(class!("IfcOwnerHistory")).first().copied();
    match own.or_else(any) {
        Some(row) => to(model.step().name(row)),
        None => new(model.schema(), added, 0),
    }
}

/// A new owner history where the schema wants one, made at a time in seconds since 1970.
pub(super) fn new(schema: Schema, added: &mut Added, seconds: i64) -> NewValue {
    if schema != Schema::Ifc2x3 {
        return NewValue::Unset;
    }
    let mut person = vec![NewValue::Unset; 8];
    person.splice(1..2, [text("not stated")]);
    let person = added.add("IFCPERSON", person);
    let mut organisation = vec![NewValue::Unset; 5];
    organisation.splice(1..2, [text("not stated")]);
    let organisation = added.add("IFCORGANIZATION", organisation);
    let both =
        added.add("IFCPERSONANDORGANIZATION", vec![to(person), to(organisation), NewValue::Unset]);
    let program = added.add(
        "IFCAPPLICATION",
        vec![to(organisation), text(env!("CARGO_PKG_VERSION")), text("wimble"), text("wimble")],
    );
    let open = || NewValue::Unset;
    let time = NewValue::Integer(seconds);
    to(added.add(
        "IFCOWNERHISTORY",
        vec![to(both), to(program), open(), word("ADDED"), open(), open(), open(), time],
    ))
}

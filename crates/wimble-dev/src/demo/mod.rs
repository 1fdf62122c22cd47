//! "Lodge at Field Nine": an invented house whose services cross its timber in every way that a
//! floor is cut.
//!
//! Two storeys, a garage beside it and a porch with a flat roof; solid joists, I-joists, open-web
//! joists, stud walls, rafters and trusses. X runs east, Y north, Z up; 0 is the ground floor; all
//! figures are millimetres. The structure is written in millimetres (IFC4), the services in metres
//! (IFC2X3). What is expected of every cut is in `tests/demo/expected.toml`.

mod engineered;
mod floors;
mod porch;
mod runs;
mod services;
mod site;
mod stuff;
mod upstairs;

pub use runs::{RUNS, Run, SYSTEMS, What};

use crate::ifc::{Layout, LengthUnit, Model, Schema, Setup};

/// The folder that holds the building's files, from the repository's top.
pub const FOLDER: &str = "sample-models";

/// The building's files by name, as they are committed.
#[must_use]
pub fn files() -> Vec<(&'static str, Vec<u8>)> {
    files_in(Layout::default())
}

/// The same, laid out in bytes in another way.
#[must_use]
pub fn files_in(layout: Layout) -> Vec<(&'static str, Vec<u8>)> {
    vec![("structure.ifc", structure().bytes(layout)), ("services.ifc", services().bytes(layout))]
}

fn setup(name: &str, schema: Schema, unit: LengthUnit) -> Setup {
    Setup {
        project: "Lodge at Field Nine".to_owned(),
        country: Some("United Kingdom".to_owned()),
        ..Setup::new(name, schema, unit)
    }
}

fn structure() -> Model {
    let setup = setup("structure.ifc", Schema::Ifc4, LengthUnit::Millimetre);
    let mut site = site::Site::new(Model::new(&setup));
    for room in ["Kitchen and utility", "Hall", "Living room", "Garage", "Porch"] {
        site.model.room(site.ground, room);
    }
    for room in ["Bathroom and en-suite", "Landing and stair", "Bedroom 1", "Bedroom 2"] {
        site.model.room(site.first, room);
    }
    site.shell();
    site.floors();
    site.engineered();
    site.porch();
    site.upstairs();
    site.model
}

fn services() -> Model {
    let mut model = Model::new(&setup("services.ifc", Schema::Ifc2x3, LengthUnit::Metre));
    services::write(&mut model);
    model
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_bytes_every_time() {
        assert_eq!(files(), files());
    }

    #[test]
    fn no_two_things_share_a_global_id() {
        for (name, bytes) in files() {
            let text = String::from_utf8(bytes).unwrap();
            let mut ids: Vec<&str> = text
                .lines()
                .filter_map(|line| line.split_once("('"))
                .filter_map(|(_, rest)| rest.get(..22))
                .filter(|id| id.bytes().all(|b| b.is_ascii_alphanumeric() || b"_$".contains(&b)))
                .collect();
            assert!(ids.len() > 100, "{name}: only {}", ids.len());
            ids.sort_unstable();
            let double = ids.windows(2).find(|pair| pair[0] == pair[1]);
            assert_eq!(double, None, "{name}");
        }
    }
}

//! Small files for tests.

use crate::Model;
use wimble_step::Row;

/// A file of a schema with these instances.
pub(crate) fn file(schema: &str, data: &str) -> Vec<u8> {
    let header = format!("ISO-10303-21;\nHEADER;\nFILE_SCHEMA(('{schema}'));\nENDSEC;\n");
    format!("{header}DATA;\n{data}\nENDSEC;\nEND-ISO-10303-21;\n").into_bytes()
}

/// Opens a file that the test takes for readable.
pub(crate) fn open(bytes: &[u8]) -> Model<'_> {
    Model::open(bytes).expect("a model")
}

/// The row of an instance that the test wrote.
pub(crate) fn row(model: &Model<'_>, name: u64) -> Row {
    model.step().find(name).expect("an instance of that name")
}

/// Texts of all diagnostics.
pub(crate) fn told(model: &Model<'_>) -> String {
    let all: Vec<String> = model.diagnostics().iter().map(ToString::to_string).collect();
    all.join("\n")
}

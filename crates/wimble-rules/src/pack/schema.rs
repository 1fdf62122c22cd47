//! The JSON Schema of a pack, made from the structs that read it.

use super::raw::RawPack;

/// The JSON Schema of a rule pack (of the value that its TOML text holds).
#[must_use]
pub fn pack_schema() -> serde_json::Value {
    schemars::schema_for!(RawPack).to_value()
}

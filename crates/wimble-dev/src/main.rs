//! Makes what is generated: attribute tables, schemas, demo models.

fn main() {}

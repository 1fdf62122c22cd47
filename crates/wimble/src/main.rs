//! Checks the cuts that services make in timber members of IFC models.

fn main() {}

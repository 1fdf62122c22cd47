//! The three schemas as tables: classes, who descends from whom, attributes and their positions.

mod class;
#[rustfmt::skip]
mod generated;
mod name;
mod table;
#[cfg(test)]
mod tests;

pub use class::Class;
pub use name::Schema;
pub use table::Attribute;

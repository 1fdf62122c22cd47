//! The sentences of `docs/measuring.md`, "From a crossing to a cut", on scenes built by hand;
//! rows of the demo building; slow twins.

mod crossing;
mod demo;
mod envelope;
mod figures;
mod kinds;
mod merging;
mod openings;
mod products;
mod twins;

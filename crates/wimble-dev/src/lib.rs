//! Makes what is generated: attribute tables, schemas, demo models.
//!
//! The command of the same name writes them into the repository. The library half is for tests:
//! [`ifc`] writes models in three schemas and four length units, [`demo`] is the building that is
//! checked in as `sample-models/`,
//! [`tower`] writes large ones for measuring speed,
//! [`floors`] draws random floors together with what is expected of them.

pub mod demo;
pub mod floors;
pub mod ifc;
pub mod tower;

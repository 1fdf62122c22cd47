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

use crate::ifc::{Layout, LengthUnit, Model, Schema, Setup, WorldBy};
use glam::DAffine3;

/// The folder that holds the building's files, from the repository's top.
pub const FOLDER: &str = "sample-models";

/// How the building is written; none of it changes what the building is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variant {
    /// Unit of the structure.
    pub structure: LengthUnit,
    /// Unit of the services.
    pub services: LengthUnit,
    /// Where the building stands: rigid, millimetres, turned about the vertical.
    pub world: DAffine3,
    /// What moves it there.
    pub world_by: WorldBy,
    /// Bytes.
    pub layout: Layout,
}

impl Default for Variant {
    /// As the files are committed.
    fn default() -> Self {
        Self {
            structure: LengthUnit::Millimetre,
            services: LengthUnit::Metre,
            world: DAffine3::IDENTITY,
            world_by: WorldBy::SitePlacement,
            layout: Layout::default(),
        }
    }
}

impl Variant {
    fn setup(&self, name: &str, schema: Schema, unit: LengthUnit) -> Setup {
        Setup {
            project: "Lodge at Field Nine".to_owned(),
            country: Some("United Kingdom".to_owned()),
            world: self.world,
            world_by: self.world_by,
            ..Setup::new(name, schema, unit)
        }
    }
}

/// The building's files by name, as they are committed.
#[must_use]
pub fn files() -> Vec<(&'static str, Vec<u8>)> {
    files_as(&Variant::default())
}

/// The same building, written in another way.
#[must_use]
pub fn files_as(variant: &Variant) -> Vec<(&'static str, Vec<u8>)> {
    vec![
        ("structure.ifc", structure(variant).bytes(variant.layout)),
        ("services.ifc", services(variant).bytes(variant.layout)),
    ]
}

fn structure(variant: &Variant) -> Model {
    let setup = variant.setup("structure.ifc", Schema::Ifc4, variant.structure);
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

fn services(variant: &Variant) -> Model {
    let setup = variant.setup("services.ifc", Schema::Ifc2x3, variant.services);
    let mut model = Model::new(&setup);
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

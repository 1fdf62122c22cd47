//! Where elements belong: wholes, parts, containers, storeys, openings.

use crate::{Model, class};
use wimble_step::Row;

/// How far the way up from an element is followed.
const FARTHEST: usize = 64;

impl Model<'_> {
    /// The parts of an assembly or of a spatial element (by aggregation, then by nesting; ports
    /// are not parts).
    #[must_use]
    pub fn parts(&self, row: Row) -> Vec<Row> {
        let mut parts = self.aggregates().down.of(row).to_vec();
        parts.extend(self.nests().down.of(row));
        parts
    }

    /// The whole that an element is part of.
    #[must_use]
    pub fn whole(&self, row: Row) -> Option<Row> {
        let above = self.aggregates().up.of(row).first();
        above.or_else(|| self.nests().up.of(row).first()).copied()
    }

    /// The elements that a spatial element directly contains.
    #[must_use]
    pub fn contents(&self, spatial: Row) -> &[Row] {
        self.contained().down.of(spatial)
    }

    /// The spatial element that contains an element: directly, through the assemblies that it is
    /// part of, or through the host of an opening or the opening that it fills.
    #[must_use]
    pub fn container(&self, row: Row) -> Option<Row> {
        let mut way = vec![row];
        while let Some(&here) = way.last() {
            if let Some(found) = self.contained().up.of(here).first() {
                return Some(*found);
            }
            let above = self
                .whole(here)
                .or_else(|| self.host(here))
                .or_else(|| self.filled().up.of(here).first().copied())
                .or_else(|| self.ports_of_elements().up.of(here).first().copied());
            let above = above.filter(|above| !way.contains(above) && way.len() < FARTHEST);
            match above {
                Some(above) if self.is_spatial(above) => return Some(above),
                Some(above) => way.push(above),
                // Some exporters only refer to the storey.
                None => return self.referenced().up.of(row).first().copied(),
            }
        }
        None
    }

    /// The storey that an element is on, through assemblies and spaces too. A storey is its own.
    #[must_use]
    pub fn storey(&self, row: Row) -> Option<Row> {
        self.above(row, |here| self.is_a(here, class!("IfcBuildingStorey")))
    }

    /// The site that an element is on.
    #[must_use]
    pub fn site(&self, row: Row) -> Option<Row> {
        self.above(row, |here| self.is_a(here, class!("IfcSite")))
    }

    /// Elevation of a storey in the world, metres: where it is placed, else what it states.
    #[must_use]
    pub fn storey_elevation_m(&self, storey: Row) -> Option<f64> {
        let placed =
            self.reference(storey, "ObjectPlacement").and_then(|row| self.placed(row).ok());
        let stated = || Some(self.number(storey, "Elevation")? * self.units().metres_per_length);
        placed.map(|frame| frame.translation.z).or_else(stated)
    }

    fn is_spatial(&self, row: Row) -> bool {
        // IfcSpatialElement holds the structure elements since IFC4.
        self.is_a(row, class!("IfcSpatialStructureElement"))
            || self.is_a(row, class!("IfcSpatialElement"))
    }

    /// The first spatial element on the way up that fits.
    fn above(&self, row: Row, fits: impl Fn(Row) -> bool) -> Option<Row> {
        let mut here = if self.is_spatial(row) { row } else { self.container(row)? };
        for _ in 0..FARTHEST {
            if fits(here) {
                return Some(here);
            }
            here = self.whole(here)?;
        }
        None
    }

    /// Openings and voiding features that are cut from an element.
    #[must_use]
    pub fn voids(&self, host: Row) -> &[Row] {
        self.voided().down.of(host)
    }

    /// The element that an opening is cut from.
    #[must_use]
    pub fn host(&self, opening: Row) -> Option<Row> {
        self.voided().up.of(opening).first().copied()
    }

    /// The elements that fill an opening.
    #[must_use]
    pub fn fillings(&self, opening: Row) -> &[Row] {
        self.filled().down.of(opening)
    }

    /// The type that defines an occurrence.
    #[must_use]
    pub fn type_of(&self, occurrence: Row) -> Option<Row> {
        self.types().up.of(occurrence).first().copied()
    }

    /// The occurrences of a type.
    #[must_use]
    pub fn occurrences(&self, of_type: Row) -> &[Row] {
        self.types().down.of(of_type)
    }
}

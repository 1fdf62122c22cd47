//! Where products stand in the world.

mod axes;
mod grid;
#[cfg(test)]
mod tests;

use crate::recent::Recent;
use crate::{Model, Unreadable, class};
use glam::{DAffine3, DVec3};
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::{OnceLock, PoisonError, RwLock};
use wimble_step::{Record, Row};

/// World frames of placements that others rest on.
#[derive(Debug, Default)]
pub(crate) struct Placements {
    /// Those of storeys and the like: a product's own placement is seldom asked for twice.
    known: RwLock<FxHashMap<Row, Result<DAffine3, Unreadable>>>,
    /// Which grid an axis belongs to.
    grids: OnceLock<FxHashMap<Row, Row>>,
}

/// What one thread has read of placements lately: most share their directions and rest on few others.
#[derive(Default)]
pub(crate) struct Lately {
    directions: Recent<DVec3>,
    /// World frames of those that others rest on.
    frames: Recent<Result<DAffine3, Unreadable>>,
}

impl Model<'_> {
    /// The frame of a product in the world: metres, rotation without scale, the context's world
    /// coordinate system included. A product without a placement stands at the world's origin.
    ///
    /// # Errors
    /// The placement, or one that it rests on, cannot be read; the reason names it.
    pub fn placement(&self, product: Row) -> Result<DAffine3, Unreadable> {
        self.placement_of(&self.step().record(product), &Lately::default())
    }

    /// As [`Model::placement`], of a record that is read already, with what was read lately.
    pub(crate) fn placement_of(
        &self,
        record: &Record<'_>,
        lately: &Lately,
    ) -> Result<DAffine3, Unreadable> {
        let product = record.row();
        let position = self.keyword(product).and_then(|keyword| keyword.placement);
        let Some(position) = position else {
            let label = self.label(product);
            return Err(Unreadable::new(
                product,
                format!("{label} is of a class without placement"),
            ));
        };
        match record.get(position).reference() {
            None => Ok(self.context().world),
            Some(name) => match self.follow(product, name) {
                Some(placement) => self
                    .placed_on_known(placement, lately)
                    .unwrap_or_else(|| self.placed(placement)),
                None => Err(Unreadable::new(
                    product,
                    format!("its placement #{name} is not in the file"),
                )),
            },
        }
    }

    /// The world frame in which an `IfcLocalPlacement` is measured.
    ///
    /// # Errors
    /// A placement that it rests on cannot be read; the reason names it.
    pub fn placement_base(&self, placement: Row) -> Result<DAffine3, Unreadable> {
        match self.reference(placement, "PlacementRelTo") {
            None => Ok(self.context().world),
            Some(base) => self.placed(base),
        }
    }

    /// A local placement on one whose frame is known: what nearly every product has. `None` leaves
    /// the question to the long way.
    fn placed_on_known(
        &self,
        placement: Row,
        lately: &Lately,
    ) -> Option<Result<DAffine3, Unreadable>> {
        let keyword = self.keyword(placement)?;
        if keyword.class != class!("IfcLocalPlacement") {
            return None;
        }
        let record = self.step().record(placement);
        let base = match record.get(keyword.position("PlacementRelTo")?).reference() {
            None => Ok(self.context().world),
            Some(name) => {
                let base = self.step().find(name)?;
                match lately.frames.get(base) {
                    Some(known) => known,
                    None => {
                        let known = self.known_frame(base)?;
                        lately.frames.keep(base, known.clone());
                        known
                    }
                }
            }
        };
        let own = record.get(keyword.position("RelativePlacement")?).reference()?;
        let own = self.step().find(own)?;
        Some(base.and_then(|base| Ok(base * self.frame_by(own, &lately.directions)?)))
    }

    fn known_frame(&self, placement: Row) -> Option<Result<DAffine3, Unreadable>> {
        let known = self.placements.known.read().unwrap_or_else(PoisonError::into_inner);
        known.get(&placement).cloned()
    }

    /// The world frame of an `IfcObjectPlacement`.
    pub(crate) fn placed(&self, placement: Row) -> Result<DAffine3, Unreadable> {
        // Down to the first placement whose world frame is known …
        let mut chain: Vec<Row> = Vec::new();
        let mut seen = FxHashSet::default();
        let mut next = Some(placement);
        let mut world = Ok(self.context().world);
        while let Some(row) = next {
            if let Some(frame) = self.known_frame(row) {
                world = frame;
                break;
            }
            if !seen.insert(row) {
                // Whichever of the circle is asked for first, the same one is named.
                let circle = chain.iter().copied().skip_while(|&other| other != row);
                let first = circle.min().unwrap_or(row);
                let label = self.label(first);
                world = Err(Unreadable::new(first, format!("{label} rests on itself")));
                break;
            }
            chain.push(row);
            next = match self.attribute(row, "PlacementRelTo").reference() {
                None => None,
                Some(name) => match self.follow(row, name) {
                    Some(base) => Some(base),
                    None => {
                        let label = self.label(row);
                        let reason =
                            format!("{label} rests on #{name}, which the file does not have");
                        world = Err(Unreadable::new(row, reason));
                        None
                    }
                },
            };
        }
        // … and up again.
        for &row in chain.iter().rev() {
            world = world.and_then(|base| self.step_up(row, base));
            if row != placement {
                let mut known =
                    self.placements.known.write().unwrap_or_else(PoisonError::into_inner);
                known.insert(row, world.clone());
            }
        }
        world
    }

    /// The world frame of one placement whose base is known.
    fn step_up(&self, row: Row, base: DAffine3) -> Result<DAffine3, Unreadable> {
        let label = || self.label(row);
        let Some(class) = self.class(row) else {
            return Err(Unreadable::new(row, format!("{} is not a placement", label())));
        };
        if class.is_a(class!("IfcLocalPlacement")) {
            let Some(own) = self.reference(row, "RelativePlacement") else {
                return Err(Unreadable::new(row, format!("{} has no RelativePlacement", label())));
            };
            return Ok(base * self.frame(own)?);
        }
        if class.is_a(class!("IfcGridPlacement")) {
            return self.on_grid(row);
        }
        if class.is_a(class!("IfcLinearPlacement")) {
            return match self.cartesian_position(row) {
                Some(own) => Ok(base * self.frame(own)?),
                None => {
                    let reason =
                        format!("{} follows an alignment and gives no CartesianPosition", label());
                    Err(Unreadable::new(row, reason))
                }
            };
        }
        Err(Unreadable::new(row, format!("{} is not a placement", label())))
    }

    /// The fallback of a linear placement. The drafts IFC4X1 and IFC4X2 put it elsewhere than
    /// IFC4X3, but it is an `IfcAxis2Placement3D` in all of them.
    fn cartesian_position(&self, row: Row) -> Option<Row> {
        (0..self.step().record(row).len()).rev().find_map(|position| {
            let name = self.step().record(row).get(position).reference()?;
            let found = self.step().find(name)?;
            self.is_a(found, class!("IfcAxis2Placement3D")).then_some(found)
        })
    }
}

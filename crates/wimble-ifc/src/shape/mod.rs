//! Shapes as solids in the world.
//!
//! [`Model::body`] reads a product's body, item by item; [`Model::axis`] its axis line. The entity
//! of an item decides how it is read, never the representation's type text. Exact data is kept
//! where it exists: an extruded rectangle is a prism, a disk swept along a line a bar; what is
//! curved otherwise becomes a mesh within [`CHORD`](wimble_geom::tolerance::CHORD).
//!
//! | file | reads |
//! | --- | --- |
//! | `reader` | points, directions, frames, operators; the limits that stop endless files |
//! | `path`, `spline`, `curve` | curves |
//! | `profile`, `steel`, `join` | profiles |
//! | `solid`, `sweep` | solids from profiles, primitives |
//! | `faces`, `edge`, `surface`, `curved` | boundaries |
//! | `boolean` | boolean trees |
//! | `mapped` | items used in many places |
//!
//! What cannot be read is a value that says why ([`Unreadable`]), one item at a time.

mod bodies;
mod boolean;
mod census;
mod curve;
mod curved;
mod edge;
mod faces;
mod join;
mod kinds;
mod mapped;
mod path;
mod profile;
mod reader;
mod representation;
mod solid;
mod spline;
mod steel;
mod surface;
mod sweep;
#[cfg(test)]
mod tests;

pub use bodies::Bodies;
pub use census::{Census, Count};
pub use kinds::{SHAPE_KINDS, ShapeGroup, ShapeKind};
pub use reader::Remark;

use crate::{Model, Unreadable};
use glam::{DAffine3, DVec3};
use reader::Reader;
use std::borrow::Cow;
use std::cell::RefCell;
use wimble_geom::Solid;
use wimble_step::Row;

/// A product's body: what its representation consists of, in world metres.
#[derive(Debug, Clone, Default)]
pub struct Body {
    /// Its items in file order; the items of a mapped item count one by one.
    pub items: Vec<Item>,
    /// The identifier of the representation that was read, `Body` as a rule; empty if there is none.
    pub representation: Cow<'static, str>,
    /// Faults in spite of which something was read; those of a product's body are diagnostics of the
    /// model, too.
    pub remarks: Vec<Remark>,
    /// Kinds of shape met on the way; [`Bodies`] do not count them.
    pub census: Census,
}

/// One solid of a body.
#[derive(Debug, Clone)]
pub struct Item {
    /// Its place in the body, from 0.
    pub index: u32,
    /// The instance: of a mapped item, the one inside the map.
    pub row: Row,
    /// The solid with its half-space clips, but without the solids that are taken from it; or why
    /// it could not be read.
    pub solid: Result<Solid, Unreadable>,
    /// Solids that a boolean takes from it, in order; not applied to `solid`.
    pub subtracted: Vec<Subtraction>,
    /// Whether it is drawn with lines only and so has no solid: nothing failed to be read.
    pub lines_only: bool,
}

/// A solid that is taken from an item.
#[derive(Debug, Clone)]
pub struct Subtraction {
    /// The operand's instance.
    pub row: Row,
    /// The operand, or why it could not be read.
    pub solid: Result<Solid, Unreadable>,
}

impl Subtraction {
    fn moved(&self, map: &DAffine3) -> Self {
        let solid = self.solid.clone().and_then(|solid| {
            solid
                .transformed(map)
                .ok_or_else(|| Unreadable::new(self.row, "it is flattened by its map"))
        });
        Self { row: self.row, solid }
    }
}

impl Item {
    /// What is left when all that is taken away is taken away; operands that could not be read
    /// (see [`Item::unread_operands`]) are not. `None` if nothing is left.
    ///
    /// # Errors
    /// The item could not be read, or the difference is too intricate.
    pub fn net(&self) -> Result<Option<Solid>, Unreadable> {
        let solid = self.solid.as_ref().map_err(Clone::clone)?;
        let others: Vec<&Solid> =
            self.subtracted.iter().filter_map(|s| s.solid.as_ref().ok()).collect();
        solid.minus(&others).map_err(|trouble| {
            Unreadable::new(self.row, format!("the difference cannot be worked out: {trouble}"))
        })
    }

    /// Operands that are taken away but could not be read.
    pub fn unread_operands(&self) -> impl Iterator<Item = &Unreadable> {
        self.subtracted.iter().filter_map(|s| s.solid.as_ref().err())
    }
}

impl<'a> Model<'a> {
    fn shape_reader(&self) -> Reader<'_, 'a> {
        let units = self.units();
        Reader::new(self.step(), self.schema(), units.metres_per_length, units.radians_per_angle)
    }

    /// The body of a product, in world metres. A product without any has no items.
    ///
    /// The representation `Body` is read, else `Body-FallBack`, else any other that holds solids
    /// or surfaces; one that holds only lines gives items that say so.
    #[must_use]
    pub fn body(&self, product: Row) -> Body {
        Bodies::counting(self).body(product)
    }

    /// The bodies of an opening or another product that cuts. Where there is no `Body`, the
    /// `Reference` representation, which is already cut in the host's body, still tells its shape.
    #[must_use]
    pub fn opening_solids(&self, opening: Row) -> Body {
        Bodies::counting(self).opening_solids(opening)
    }

    /// The items of one representation, or one item that stands alone, in the file's own frame.
    #[must_use]
    pub fn shape_of(&self, row: Row) -> Body {
        let reader = self.shape_reader().counting();
        let mut body = Body::default();
        reader.append_items(&reader.at(row), &mut body.items);
        body.number();
        body.remarks = reader.finish();
        body.census = reader.census.map(RefCell::into_inner).unwrap_or_default();
        body
    }

    /// The line of a product's `Axis` representation, in world metres: curves as chords. `None`
    /// if there is none that can be read.
    #[must_use]
    pub fn axis(&self, product: Row) -> Option<Vec<DVec3>> {
        let place = self.placement(product).ok()?;
        let points = self.shape_reader().lines(self, product, true).into_iter().next()?;
        Some(points.into_iter().map(|p| place.transform_point3(p)).collect())
    }

    /// Every line that stands for a product in space, in world metres: of its `Axis` or
    /// `Reference`, else of a body that is drawn with lines.
    #[must_use]
    pub fn lines(&self, product: Row) -> Vec<Vec<DVec3>> {
        let Ok(place) = self.placement(product) else { return Vec::new() };
        let reader = self.shape_reader();
        let mut lines = reader.lines(self, product, true);
        if lines.is_empty() {
            lines = reader.lines(self, product, false);
        }
        for point in lines.iter_mut().flatten() {
            *point = place.transform_point3(*point);
        }
        lines
    }
}

impl Body {
    fn unreadable(row: Row, trouble: Unreadable) -> Self {
        Self { items: vec![Item::unreadable(row, trouble)], ..Self::default() }
    }

    /// Whether there is something, and all of it is lines.
    #[must_use]
    pub fn is_lines_only(&self) -> bool {
        !self.items.is_empty() && self.items.iter().all(|item| item.lines_only)
    }

    fn number(&mut self) {
        for (index, item) in self.items.iter_mut().enumerate() {
            item.index = u32::try_from(index).unwrap_or(u32::MAX);
        }
    }
}

impl Item {
    const fn unreadable(row: Row, trouble: Unreadable) -> Self {
        Self { index: 0, row, solid: Err(trouble), subtracted: Vec::new(), lines_only: false }
    }

    fn move_by(&mut self, map: &DAffine3) {
        if *map == DAffine3::IDENTITY {
            return;
        }
        if let Ok(solid) = &self.solid {
            self.solid = solid
                .transformed(map)
                .ok_or_else(|| Unreadable::new(self.row, "the item is flattened by its placement"));
        }
        self.subtracted = self.subtracted.iter().map(|s| s.moved(map)).collect();
    }
}

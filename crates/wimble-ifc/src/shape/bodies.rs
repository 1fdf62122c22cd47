//! The bodies of many products, one after the other.

use super::reader::Reader;
use super::{Body, Census};
use crate::Model;
use crate::placement::Lately;
use std::cell::RefCell;
use wimble_step::{Record, Row};

/// Reads the bodies of many products: what they share (profiles, directions) is read once. It is
/// for one thread; each makes its own.
pub struct Bodies<'m, 'a> {
    model: &'m Model<'a>,
    reader: Reader<'m, 'a>,
    placed: Lately,
}

impl<'m, 'a> Bodies<'m, 'a> {
    /// For the products of a model.
    #[must_use]
    pub fn of(model: &'m Model<'a>) -> Self {
        Self { model, reader: model.shape_reader(), placed: Lately::default() }
    }

    /// Counts the kinds of shape that are met.
    pub(super) fn counting(model: &'m Model<'a>) -> Self {
        Self { reader: model.shape_reader().counting(), ..Self::of(model) }
    }

    /// As [`Model::body`].
    #[must_use]
    pub fn body(&self, product: Row) -> Body {
        self.body_of(self.model.step().record(product))
    }

    /// As [`Model::body`], of a record that is read already.
    #[must_use]
    pub fn body_of(&self, product: Record<'m>) -> Body {
        self.named(product, &["Body", "Body-FallBack"])
    }

    /// As [`Model::opening_solids`].
    #[must_use]
    pub fn opening_solids(&self, opening: Row) -> Body {
        self.opening_solids_of(self.model.step().record(opening))
    }

    /// As [`Model::opening_solids`], of a record that is read already.
    #[must_use]
    pub fn opening_solids_of(&self, opening: Record<'m>) -> Body {
        self.named(opening, &["Body", "Body-FallBack", "Reference"])
    }

    fn named(&self, product: Record<'m>, identifiers: &[&'static str]) -> Body {
        let place = match self.model.placement_of(&product, &self.placed) {
            Ok(place) => place,
            Err(trouble) => return Body::unreadable(product.row(), trouble),
        };
        let mut body = self.reader.body(self.model, product, identifiers);
        for item in &mut body.items {
            item.move_by(&place);
        }
        body.remarks = self.reader.finish();
        for remark in &body.remarks {
            self.model.note(remark.row, remark.text.as_str());
        }
        body.census = self.reader.census.as_ref().map_or_else(Census::default, RefCell::take);
        body
    }
}

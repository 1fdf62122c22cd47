//! Placement on the crossing of two grid axes.

use super::Placements;
use crate::{Model, Unreadable, class};
use glam::{DAffine3, DMat3, DVec2, DVec3};
use rustc_hash::{FxHashMap, FxHashSet};
use wimble_step::Row;

/// Sine of the angle under which two grid axes do not meet.
const PARALLEL: f64 = 1e-9;

/// A straight line in a grid's plane, metres.
#[derive(Debug, Clone, Copy)]
struct Line {
    through: DVec2,
    /// Unit length.
    along: DVec2,
}

impl Line {
    /// Moved to its left.
    fn offset(self, by: f64) -> Self {
        Self { through: self.through + self.along.perp() * by, ..self }
    }

    fn meets(self, other: Self) -> Option<DVec2> {
        let sine = self.along.perp_dot(other.along);
        if sine.abs() < PARALLEL {
            return None;
        }
        let at = (other.through - self.through).perp_dot(other.along) / sine;
        Some(self.through + self.along * at)
    }
}

/// Where two axes cross: point in the grid's frame, direction of the first axis, and the grid.
struct Crossing {
    point: DVec3,
    along: DVec2,
    grid: Row,
}

impl Model<'_> {
    /// The world frame of an `IfcGridPlacement`. Its plane is that of the grid; X runs along the
    /// first axis, or as the placement says.
    pub(super) fn on_grid(&self, placement: Row) -> Result<DAffine3, Unreadable> {
        let Some(location) = self.reference(placement, "PlacementLocation") else {
            let label = self.label(placement);
            return Err(Unreadable::new(placement, format!("{label} has no PlacementLocation")));
        };
        let crossing = self.crossing(location)?;
        let along = match self.reference(placement, "PlacementRefDirection") {
            None => crossing.along,
            Some(row) if self.is_a(row, class!("IfcVirtualGridIntersection")) => {
                (self.crossing(row)?.point - crossing.point).truncate()
            }
            Some(row) => self.direction(row)?.truncate(),
        };
        let Some(along) = along.try_normalize() else {
            let label = self.label(placement);
            return Err(Unreadable::new(
                placement,
                format!("{label} has no direction in the grid's plane"),
            ));
        };
        if self.rests_on_grid(crossing.grid) {
            let label = self.label(crossing.grid);
            let reason = format!("{label} is itself placed on a grid, which is not followed");
            return Err(Unreadable::new(crossing.grid, reason));
        }
        let x = along.extend(0.0);
        let axes = DMat3::from_cols(x, DVec3::Z.cross(x), DVec3::Z);
        Ok(self.placement(crossing.grid)? * DAffine3::from_mat3_translation(axes, crossing.point))
    }

    /// Whether a grid's own placement rests on a grid: maybe on itself.
    fn rests_on_grid(&self, grid: Row) -> bool {
        let mut seen = FxHashSet::default();
        let mut next = self.reference(grid, "ObjectPlacement");
        while let Some(row) = next.filter(|row| seen.insert(*row)) {
            if self.is_a(row, class!("IfcGridPlacement")) {
                return true;
            }
            next = self.reference(row, "PlacementRelTo");
        }
        false
    }

    /// Reads an `IfcVirtualGridIntersection`.
    fn crossing(&self, row: Row) -> Result<Crossing, Unreadable> {
        let trouble = |reason: &str| Unreadable::new(row, format!("{} {reason}", self.label(row)));
        let axes = self.references(row, "IntersectingAxes");
        let [first, second] = axes[..] else { return Err(trouble("does not name two grid axes")) };
        let Some(grid) = self.grid_of(first) else {
            return Err(trouble("names an axis that belongs to no grid"));
        };
        let metres = self.units().metres_per_length;
        let offsets = self.numbers(row, "OffsetDistances");
        let offset = |place: usize| offsets.get(place).copied().unwrap_or(0.0) * metres;
        let first = self.grid_line(first)?;
        let second = self.grid_line(second)?;
        let point = first.offset(offset(0)).meets(second.offset(offset(1)));
        let Some(point) = point else {
            return Err(trouble("names two axes that run side by side"));
        };
        Ok(Crossing { point: point.extend(offset(2)), along: first.along, grid })
    }

    /// The straight line of an `IfcGridAxis`.
    fn grid_line(&self, axis: Row) -> Result<Line, Unreadable> {
        let trouble =
            |reason: &str| Unreadable::new(axis, format!("{} {reason}", self.label(axis)));
        let Some(curve) = self.reference(axis, "AxisCurve") else {
            return Err(trouble("has no curve"));
        };
        let (through, along) =
            self.straight(curve)?.ok_or_else(|| trouble("is not a straight line"))?;
        let same = self.boolean(axis, "SameSense").unwrap_or(true);
        let along = along
            .truncate()
            .try_normalize()
            .ok_or_else(|| trouble("has no direction in the grid's plane"))?;
        Ok(Line { through: through.truncate(), along: if same { along } else { -along } })
    }

    /// A point on a straight curve and its direction; `None` if it is not one of the straight
    /// kinds.
    fn straight(&self, curve: Row) -> Result<Option<(DVec3, DVec3)>, Unreadable> {
        if self.is_a(curve, class!("IfcTrimmedCurve")) {
            let sense = self.boolean(curve, "SenseAgreement").unwrap_or(true);
            let Some(basis) = self.reference(curve, "BasisCurve") else { return Ok(None) };
            if !self.is_a(basis, class!("IfcLine")) {
                return Ok(None);
            }
            let line = self.straight(basis)?;
            return Ok(line.map(|(point, along)| (point, if sense { along } else { -along })));
        }
        if self.is_a(curve, class!("IfcLine")) {
            let parts = self.reference(curve, "Pnt").zip(self.reference(curve, "Dir"));
            let Some((point, vector)) = parts else { return Ok(None) };
            let Some(orientation) = self.reference(vector, "Orientation") else { return Ok(None) };
            return Ok(Some((self.point(point)?, self.direction(orientation)?)));
        }
        let points: Vec<DVec3> = if self.is_a(curve, class!("IfcPolyline")) {
            let rows = self.references(curve, "Points");
            rows.into_iter().map(|row| self.point(row)).collect::<Result<_, _>>()?
        } else {
            Vec::new()
        };
        let (Some(first), Some(last)) = (points.first(), points.last()) else { return Ok(None) };
        let along = *last - *first;
        // Points between the ends are allowed where they lie on the line.
        let on_line =
            |point: &DVec3| (*point - *first).cross(along).length() <= 1e-6 * along.length();
        Ok(points.iter().all(on_line).then_some((*first, along)))
    }

    fn grid_of(&self, axis: Row) -> Option<Row> {
        let Placements { grids, .. } = &self.placements;
        let grids = grids.get_or_init(|| {
            let mut known = FxHashMap::default();
            for grid in self.rows_of_class(class!("IfcGrid")) {
                for attribute in ["UAxes", "VAxes", "WAxes"] {
                    for axis in self.references(grid, attribute) {
                        known.entry(axis).or_insert(grid);
                    }
                }
            }
            known
        });
        grids.get(&axis).copied()
    }
}

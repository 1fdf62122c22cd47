//! Points, directions and axis placements.

use crate::recent::Recent;
use crate::{Model, Unreadable, class};
use glam::{DAffine3, DMat3, DVec3};
use wimble_step::Row;

/// Sine of the angle under which `RefDirection` is taken to be along `Axis`.
const ALONG: f64 = 1e-7;

impl Model<'_> {
    /// An `IfcCartesianPoint`, metres; a plane point has z = 0.
    ///
    /// # Errors
    /// It is not a point of two or three coordinates.
    pub fn point(&self, row: Row) -> Result<DVec3, Unreadable> {
        let coordinates = self.triple(row, class!("IfcCartesianPoint"))?;
        Ok(coordinates * self.units().metres_per_length)
    }

    /// An `IfcDirection` as written, not made unit length; a plane direction has z = 0.
    ///
    /// # Errors
    /// It is not a direction of two or three ratios.
    pub fn direction(&self, row: Row) -> Result<DVec3, Unreadable> {
        self.triple(row, class!("IfcDirection"))
    }

    fn triple(&self, row: Row, class: crate::Class) -> Result<DVec3, Unreadable> {
        if !self.is_a(row, class) {
            let label = self.label(row);
            return Err(Unreadable::new(row, format!("{label} stands where an {class} is needed")));
        }
        if let Some(triple) = self.step().triple(row) {
            return Ok(triple.into());
        }
        let mut numbers = self.step().record(row).list(0).numbers();
        match (numbers.next(), numbers.next(), numbers.next(), numbers.next()) {
            (Some(x), Some(y), z, None) => Ok(DVec3::new(x, y, z.unwrap_or(0.0))),
            _ => {
                let label = self.label(row);
                Err(Unreadable::new(row, format!("{label} has no two or three coordinates")))
            }
        }
    }

    /// The frame of an `IfcAxis2Placement3D`, `IfcAxis2Placement2D`, `IfcAxis1Placement` or
    /// `IfcAxis2PlacementLinear`, metres, relative to whatever it is used in.
    ///
    /// Z is `Axis` exactly, X is `RefDirection` made square to it, Y = Z × X. Left out, they are
    /// (0, 0, 1) and (1, 0, 0).
    ///
    /// # Errors
    /// It is another kind of instance, or its location cannot be read.
    pub fn frame(&self, row: Row) -> Result<DAffine3, Unreadable> {
        self.frame_by(row, &Recent::default())
    }

    /// The same, with the directions that were read lately: most placements share theirs.
    pub(super) fn frame_by(
        &self,
        row: Row,
        directions: &Recent<DVec3>,
    ) -> Result<DAffine3, Unreadable> {
        let label = || self.label(row);
        if !self.is_a(row, class!("IfcPlacement")) {
            return Err(Unreadable::new(
                row,
                format!("{} stands where an axis placement is needed", label()),
            ));
        }
        let record = self.step().record(row);
        let keyword = self.keyword(row);
        let part = |attribute: &str| {
            self.follow(row, record.get(keyword?.position(attribute)?).reference()?)
        };
        let Some(location) = part("Location") else {
            return Err(Unreadable::new(row, format!("{} has no Location", label())));
        };
        if self.is_a(location, class!("IfcPointByDistanceExpression")) {
            return Err(Unreadable::new(
                location,
                format!("{} lies along a curve", self.label(location)),
            ));
        }
        let origin = self.point(location)?;
        let given = |attribute| {
            let named = part(attribute)?;
            if let Some(known) = directions.get(named) {
                return Some(known);
            }
            match self.direction(named) {
                Ok(direction) if direction.length_squared() > 0.0 => {
                    directions.keep(named, direction);
                    Some(direction)
                }
                _ => {
                    self.note(
                        named,
                        format!("{attribute} of {} has no direction; the default is used", label()),
                    );
                    None
                }
            }
        };
        let (axes, along) = axes(given("Axis"), given("RefDirection"));
        if along {
            self.note(
                row,
                format!("{} has RefDirection along its Axis; a default is used", label()),
            );
        }
        Ok(DAffine3::from_mat3_translation(axes, origin))
    }
}

/// The axes of a placement, and whether its directions lie along each other, so that X had to be
/// chosen.
fn axes(axis: Option<DVec3>, reference: Option<DVec3>) -> (DMat3, bool) {
    let z = axis.and_then(DVec3::try_normalize).unwrap_or(DVec3::Z);
    let square = |reference: DVec3| {
        let reference = reference.try_normalize()?;
        let across = reference - z * reference.dot(z);
        (across.length() > ALONG).then(|| across.normalize())
    };
    let wanted = reference.unwrap_or(DVec3::X);
    let (x, along) = match square(wanted) {
        Some(x) => (x, false),
        // With Axis along X the schemas' rule (IfcFirstProjAxis) takes Y instead.
        None => {
            (square(DVec3::X).or_else(|| square(DVec3::Y)).unwrap_or(DVec3::X), reference.is_some())
        }
    };
    (DMat3::from_cols(x, z.cross(x), z), along)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn axis_is_kept_and_ref_direction_is_made_square_to_it() {
        let (axes, along) = axes(Some(DVec3::new(0.0, 0.0, 5.0)), Some(DVec3::new(2.0, 0.0, 9.0)));
        assert!(axes.abs_diff_eq(DMat3::IDENTITY, 1e-15) && !along);
    }

    #[test]
    fn left_out_directions_are_the_worlds() {
        assert!(axes(None, None).0.abs_diff_eq(DMat3::IDENTITY, 0.0));
        let (turned, _) = axes(None, Some(DVec3::Y));
        assert!(turned.abs_diff_eq(DMat3::from_cols(DVec3::Y, -DVec3::X, DVec3::Z), 0.0));
        let (tipped, _) = axes(Some(DVec3::Y), None);
        assert!(tipped.abs_diff_eq(DMat3::from_cols(DVec3::X, -DVec3::Z, DVec3::Y), 0.0));
    }

    #[test]
    fn an_axis_along_x_without_ref_direction_takes_y_for_its_x() {
        let (axes, along) = axes(Some(DVec3::X), None);
        assert!(axes.abs_diff_eq(DMat3::from_cols(DVec3::Y, DVec3::Z, DVec3::X), 0.0) && !along);
    }

    #[test]
    fn directions_along_each_other_are_told() {
        let (axes, along) = axes(Some(DVec3::Z), Some(-DVec3::Z));
        assert!(axes.abs_diff_eq(DMat3::IDENTITY, 0.0) && along);
    }
}

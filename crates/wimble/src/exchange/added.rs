//! Instances being added to a model.

use super::void::{Outline, Void};
use glam::{DAffine3, DVec3};
use wimble_step::{NewInstance, NewValue};

/// Coordinates are written to a tenth of a nanometre, and directions to twelve places.
const GRAIN_M: f64 = 1e-10;
const GRAIN: f64 = 1e-12;

/// New instances, with names that count up.
pub(super) struct Added {
    next: u64,
    metres_per_length: f64,
    pub(super) instances: Vec<NewInstance>,
}

pub(super) fn text(value: &str) -> NewValue {
    NewValue::Text(value.into())
}

pub(super) fn word(value: &str) -> NewValue {
    NewValue::Enumeration(value.into())
}

pub(super) fn to(name: u64) -> NewValue {
    NewValue::Reference(name)
}

pub(super) fn list(values: impl IntoIterator<Item = NewValue>) -> NewValue {
    NewValue::List(values.into_iter().collect())
}

impl Added {
    /// Names begin after `last`; lengths are written in the model's unit.
    pub(super) fn after(last: u64, metres_per_length: f64) -> Self {
        Self { next: last + 1, metres_per_length, instances: Vec::new() }
    }

    pub(super) fn add(&mut self, keyword: &str, values: Vec<NewValue>) -> u64 {
        let name = self.next;
        self.next += 1;
        self.instances.push(NewInstance { name, keyword: keyword.into(), values });
        name
    }

    /// A length of so many millimetres.
    pub(super) fn length(&self, mm: f64) -> NewValue {
        self.metres(mm / 1000.0)
    }

    /// A length of so many metres.
    pub(super) fn metres(&self, metres: f64) -> NewValue {
        let unit = self.metres_per_length;
        // The grain in the model's unit, as a power of ten: a decimal unit gets short decimals.
        let grain = 10f64.powf((GRAIN_M / unit).log10().round());
        NewValue::Real(rounded(metres / unit, grain))
    }

    pub(super) fn point(&mut self, metres: DVec3) -> u64 {
        let coordinates = metres.to_array().map(|c| self.metres(c));
        self.add("IFCCARTESIANPOINT", vec![list(coordinates)])
    }

    pub(super) fn direction(&mut self, direction: DVec3) -> u64 {
        let ratios = direction.to_array().map(|c| NewValue::Real(rounded(c, GRAIN)));
        self.add("IFCDIRECTION", vec![list(ratios)])
    }

    /// A local placement on another (or on nothing), turned so that z and x are these.
    pub(super) fn placement(
        &mut self,
        on: Option<u64>,
        at_m: DVec3,
        axes: Option<(DVec3, DVec3)>,
    ) -> u64 {
        let location = self.point(at_m);
        let (z, x) = match axes {
            Some((z, x)) => (to(self.direction(z)), to(self.direction(x))),
            None => (NewValue::Unset, NewValue::Unset),
        };
        let axes = self.add("IFCAXIS2PLACEMENT3D", vec![to(location), z, x]);
        let on = on.map_or(NewValue::Unset, to);
        self.add("IFCLOCALPLACEMENT", vec![on, to(axes)])
    }

    /// Placement and shape of a void, given in the frame of what it is placed on.
    pub(super) fn void(
        &mut self,
        void: &Void,
        into: &DAffine3,
        on: Option<u64>,
        context: u64,
    ) -> (u64, u64) {
        let turn = |d: DVec3| into.transform_vector3(d).normalize_or_zero();
        let at = into.transform_point3(void.start_m);
        let placement = self.placement(on, at, Some((turn(void.along), turn(void.across))));
        let centre =
            self.add("IFCCARTESIANPOINT", vec![list([NewValue::Real(0.0), NewValue::Real(0.0)])]);
        let flat = self.add("IFCAXIS2PLACEMENT2D", vec![to(centre), NewValue::Unset]);
        let head = [word("AREA"), NewValue::Unset, to(flat)];
        let profile = match void.outline {
            Outline::Round { diameter_mm } => {
                let radius = self.length(diameter_mm / 2.0);
                self.add("IFCCIRCLEPROFILEDEF", head.into_iter().chain([radius]).collect())
            }
            Outline::Rectangle { x_mm, y_mm } => {
                let sides = [self.length(x_mm), self.length(y_mm)];
                self.add("IFCRECTANGLEPROFILEDEF", head.into_iter().chain(sides).collect())
            }
        };
        let origin = self.point(DVec3::ZERO);
        let upright =
            self.add("IFCAXIS2PLACEMENT3D", vec![to(origin), NewValue::Unset, NewValue::Unset]);
        let up = self.direction(DVec3::Z);
        let depth = self.length(void.depth_mm);
        let solid = self.add("IFCEXTRUDEDAREASOLID", vec![to(profile), to(upright), to(up), depth]);
        let shape = self.add(
            "IFCSHAPEREPRESENTATION",
            vec![to(context), text("Body"), text("SweptSolid"), list([to(solid)])],
        );
        let shapes = vec![NewValue::Unset, NewValue::Unset, list([to(shape)])];
        (placement, self.add("IFCPRODUCTDEFINITIONSHAPE", shapes))
    }
}

/// To a grain; adding zero turns −0 into 0.
fn rounded(value: f64, grain: f64) -> f64 {
    let steps = (value / grain).round();
    // Dividing by the whole number 1/grain gives the shortest decimals.
    steps / (1.0 / grain).round() + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(value: NewValue) -> String {
        let instance = NewInstance { name: 1, keyword: "X".into(), values: vec![value] };
        instance.to_text().unwrap()
    }

    #[test]
    fn lengths_are_short_decimals_of_the_models_unit() {
        assert_eq!(written(Added::after(0, 0.001).length(27.0)), "#1=X(27.);");
        assert_eq!(written(Added::after(0, 0.001).metres(1.2005)), "#1=X(1200.5);");
        assert_eq!(written(Added::after(0, 1.0).length(27.0)), "#1=X(0.027);");
        assert_eq!(written(Added::after(0, 1.0).metres(-1e-12)), "#1=X(0.);");
        assert_eq!(written(Added::after(0, 0.3048).metres(3.048)), "#1=X(10.);");
        assert_eq!(written(Added::after(0, 0.0254).length(25.4)), "#1=X(1.);");
    }

    #[test]
    fn names_count_up_after_the_last() {
        let mut added = Added::after(40, 1.0);
        assert_eq!((added.point(DVec3::ZERO), added.direction(DVec3::X)), (41, 42));
    }
}

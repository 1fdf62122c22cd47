//! What a whole file has in common: schema, units, where the building stands.

use super::file::{File, Schema};
use super::value::{Id, Value};
use glam::DAffine3;

/// Length units that models are written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LengthUnit {
    /// SI, with prefix.
    Millimetre,
    /// SI.
    Metre,
    /// Conversion based, 25.4 mm.
    Inch,
    /// Conversion based, 304.8 mm.
    Foot,
}

impl LengthUnit {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Millimetre, Self::Metre, Self::Inch, Self::Foot];

    /// Millimetres in one unit.
    #[must_use]
    pub const fn millimetres(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Metre => 1000.0,
            Self::Inch => 25.4,
            Self::Foot => 304.8,
        }
    }
}

/// Which part of the file moves the building to its place in the world.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WorldBy {
    /// The site's placement.
    SitePlacement,
    /// The world coordinate system of the representation context.
    Context,
    /// Nothing: every element is placed in world coordinates.
    EveryElement,
}

/// A map conversion, which no reader may apply to what it checks.
#[derive(Debug, Clone, PartialEq)]
pub struct Georeference {
    /// Name of the coordinate reference system (`EPSG:27700`).
    pub system: String,
    /// Metres.
    pub eastings: f64,
    /// Metres.
    pub northings: f64,
    /// Metres.
    pub height: f64,
}

/// What a whole file has in common.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// File name in the header; also the space of its GlobalIds.
    pub name: String,
    /// Name of the project.
    pub project: String,
    /// Schema.
    pub schema: Schema,
    /// Length unit.
    pub unit: LengthUnit,
    /// Plane angles in degrees (conversion based), in place of radians.
    pub degrees: bool,
    /// Where the building stands: rigid, millimetres.
    pub world: DAffine3,
    /// What moves it there.
    pub world_by: WorldBy,
    /// Country of the site's address.
    pub country: Option<String>,
    /// Map conversion (IFC4 and later).
    pub georeference: Option<Georeference>,
}

impl Setup {
    /// A file in this schema and unit with the building at the world's origin.
    #[must_use]
    pub fn new(name: &str, schema: Schema, unit: LengthUnit) -> Self {
        Self {
            name: name.to_owned(),
            project: name.to_owned(),
            schema,
            unit,
            degrees: false,
            world: DAffine3::IDENTITY,
            world_by: WorldBy::SitePlacement,
            country: None,
            georeference: None,
        }
    }

    /// Writes the unit assignment.
    pub(super) fn units(&self, file: &mut File) -> Id {
        let mut units = vec![self.length(file)];
        units.push(si(file, "AREAUNIT", None, "SQUARE_METRE"));
        units.push(si(file, "VOLUMEUNIT", None, "CUBIC_METRE"));
        let radian = si(file, "PLANEANGLEUNIT", None, "RADIAN");
        units.push(if self.degrees {
            converted(
                file,
                "PLANEANGLEUNIT",
                "DEGREE",
                Value::typed("IFCPLANEANGLEMEASURE", Value::Real(std::f64::consts::PI / 180.0)),
                radian,
            )
        } else {
            radian
        });
        file.add("IfcUnitAssignment", vec![Value::references(units)])
    }

    fn length(&self, file: &mut File) -> Id {
        let factor = |mm: f64| Value::typed("IFCLENGTHMEASURE", Value::Real(mm));
        match self.unit {
            LengthUnit::Millimetre => si(file, "LENGTHUNIT", Some("MILLI"), "METRE"),
            LengthUnit::Metre => si(file, "LENGTHUNIT", None, "METRE"),
            // One of them over millimetres, one over metres: both are met in practice.
            LengthUnit::Inch => {
                let base = si(file, "LENGTHUNIT", Some("MILLI"), "METRE");
                converted(file, "LENGTHUNIT", "INCH", factor(25.4), base)
            }
            LengthUnit::Foot => {
                let base = si(file, "LENGTHUNIT", None, "METRE");
                converted(file, "LENGTHUNIT", "FOOT", factor(0.3048), base)
            }
        }
    }
}

fn si(file: &mut File, kind: &'static str, prefix: Option<&'static str>, name: &'static str) -> Id {
    let prefix = prefix.map_or(Value::Unset, Value::Enumeration);
    file.add(
        "IfcSIUnit",
        vec![Value::Derived, Value::Enumeration(kind), prefix, Value::Enumeration(name)],
    )
}

fn converted(
    file: &mut File,
    kind: &'static str,
    name: &'static str,
    factor: Value,
    base: Id,
) -> Id {
    let powers = if kind == "LENGTHUNIT" { [1, 0, 0, 0, 0, 0, 0] } else { [0; 7] };
    let dimensions =
        file.add("IfcDimensionalExponents", powers.into_iter().map(Value::Integer).collect());
    let measure = file.add("IfcMeasureWithUnit", vec![factor, base.into()]);
    file.add(
        "IfcConversionBasedUnit",
        vec![dimensions.into(), Value::Enumeration(kind), name.into(), measure.into()],
    )
}

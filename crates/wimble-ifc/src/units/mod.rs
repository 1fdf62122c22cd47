//! Units of the project and of single values.

#[cfg(test)]
mod tests;

use crate::{Model, class};
use wimble_step::Row;

/// The units that values of this model are in, unless a property names its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Units {
    /// One length unit in metres.
    pub metres_per_length: f64,
    /// The length unit in words: `mm`, `m`, `inch`, `foot` …
    pub length_name: String,
    /// One plane angle unit in radians.
    pub radians_per_angle: f64,
    /// The angle unit in words.
    pub angle_name: String,
    /// One area unit in square metres.
    pub square_metres_per_area: f64,
    /// One volume unit in cubic metres.
    pub cubic_metres_per_volume: f64,
    /// One mass unit in kilograms.
    pub kilograms_per_mass: f64,
}

impl Default for Units {
    /// What holds where a model declares nothing: SI.
    fn default() -> Self {
        Self {
            metres_per_length: 1.0,
            length_name: "m".to_owned(),
            radians_per_angle: 1.0,
            angle_name: "radian".to_owned(),
            square_metres_per_area: 1.0,
            cubic_metres_per_volume: 1.0,
            kilograms_per_mass: 1.0,
        }
    }
}

/// What a unit measures, as far as values in it are used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Dimension {
    Length,
    Area,
    Volume,
    Angle,
    Mass,
}

/// A unit that was read: factor to metre, square metre, cubic metre, radian or kilogram.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Unit {
    pub(crate) dimension: Dimension,
    pub(crate) factor: f64,
    name: String,
}

/// How deep conversion-based units may rest on each other.
const DEEPEST: u32 = 8;

impl Units {
    /// Reads the units that the project assigns. Units that the file only defines do not count.
    pub(crate) fn read(model: &Model<'_>, project: Option<Row>) -> Self {
        let mut units = Self::default();
        let assigned = project.and_then(|row| model.reference(row, "UnitsInContext"));
        // A file of bare shapes may hold an assignment without a project.
        let assignments = model.rows_of_class(class!("IfcUnitAssignment"));
        let assignment = match (assigned, assignments.as_slice()) {
            (Some(row), _) => row,
            (None, [only]) => {
                model.note(
                    *only,
                    "no project assigns units; the file's only IfcUnitAssignment is used",
                );
                *only
            }
            (None, _) => {
                model.note_file(
                    "no project assigns units: lengths are read as metres, angles as radians; \
                     check that sizes look right",
                );
                return units;
            }
        };
        let mut first: Vec<(Dimension, Row)> = Vec::new();
        for row in model.references(assignment, "Units") {
            let Some(unit) = Unit::read(model, row) else { continue };
            if let Some((_, other)) = first.iter().find(|(seen, _)| *seen == unit.dimension) {
                let other = model.step().name(*other);
                let text = "a second unit for the same measure is assigned";
                model.note(row, format!("{text}; #{other}, the first, is used"));
                continue;
            }
            first.push((unit.dimension, row));
            units.set(unit);
        }
        let has = |dimension| first.iter().any(|(seen, _)| *seen == dimension);
        if !has(Dimension::Length) {
            let text = "no length unit is assigned: lengths are read as metres";
            model.note(assignment, format!("{text}; check that sizes look right"));
        }
        if !has(Dimension::Angle) && !model.rows_of_class(class!("IfcTrimmedCurve")).is_empty() {
            model.note(assignment, "no plane angle unit is assigned: angles are read as radians");
        }
        units
    }

    fn set(&mut self, unit: Unit) {
        match unit.dimension {
            Dimension::Length => {
                self.metres_per_length = unit.factor;
                self.length_name = unit.name;
            }
            Dimension::Area => self.square_metres_per_area = unit.factor,
            Dimension::Volume => self.cubic_metres_per_volume = unit.factor,
            Dimension::Angle => {
                self.radians_per_angle = unit.factor;
                self.angle_name = unit.name;
            }
            Dimension::Mass => self.kilograms_per_mass = unit.factor,
        }
    }

    /// Factor to SI of the project's unit for a dimension.
    pub(crate) fn factor(&self, dimension: Dimension) -> f64 {
        match dimension {
            Dimension::Length => self.metres_per_length,
            Dimension::Area => self.square_metres_per_area,
            Dimension::Volume => self.cubic_metres_per_volume,
            Dimension::Angle => self.radians_per_angle,
            Dimension::Mass => self.kilograms_per_mass,
        }
    }
}

impl Unit {
    /// Reads a unit instance. `None` for a unit of anything else than [`Dimension`]s, and, with a
    /// diagnostic, for one that cannot be followed.
    pub(crate) fn read(model: &Model<'_>, row: Row) -> Option<Self> {
        let class = model.class(row)?;
        if !class.is_a(class!("IfcNamedUnit")) {
            return None;
        }
        let kind = model.enumeration(row, "UnitType")?;
        let dimension = match kind.as_str() {
            "LENGTHUNIT" => Dimension::Length,
            "AREAUNIT" => Dimension::Area,
            "VOLUMEUNIT" => Dimension::Volume,
            "PLANEANGLEUNIT" => Dimension::Angle,
            "MASSUNIT" => Dimension::Mass,
            _ => return None,
        };
        let factor = factor(model, row, DEEPEST);
        let Some(factor) = factor.filter(|factor| factor.is_finite() && *factor > 0.0) else {
            model.note(
                row,
                format!("{class} cannot be followed to an SI unit; SI is used for {kind}"),
            );
            return None;
        };
        let declared = model.text(row, "Name");
        let name = match dimension {
            Dimension::Length => length_name(factor, declared.as_deref()),
            Dimension::Angle => angle_name(factor),
            _ => declared.clone().unwrap_or_default(),
        };
        if let Some(said) = declared.as_deref().and_then(length_called)
            && dimension == Dimension::Length
            && (said - factor).abs() > 1e-4 * said
        {
            let declared = declared.unwrap_or_default();
            let text = format!(
                "the length unit is called '{declared}' but is defined as {factor} m; \
                 the definition is used"
            );
            model.note(row, text);
        }
        Some(Self { dimension, factor, name })
    }
}

/// Factor to the SI base of a named unit.
fn factor(model: &Model<'_>, row: Row, deepest: u32) -> Option<f64> {
    let class = model.class(row)?;
    if class.is_a(class!("IfcSIUnit")) {
        let prefix = match model.enumeration(row, "Prefix") {
            Some(prefix) => si_prefix(&prefix)?,
            None => 1.0,
        };
        return Some(match model.enumeration(row, "Name")?.as_str() {
            "SQUARE_METRE" => prefix * prefix,
            "CUBIC_METRE" => prefix * prefix * prefix,
            "GRAM" => prefix / 1000.0,
            _ => prefix,
        });
    }
    if class.is_a(class!("IfcConversionBasedUnit")) {
        let deepest = deepest.checked_sub(1)?;
        let measure = model.reference(row, "ConversionFactor")?;
        let number = model.number(measure, "ValueComponent")?;
        let unit = model.reference(measure, "UnitComponent")?;
        return Some(number * factor(model, unit, deepest)?);
    }
    None
}

/// Factors of the prefixes as literals: a power computed in floating point could be off by a bit.
fn si_prefix(name: &str) -> Option<f64> {
    Some(match name {
        "EXA" => 1e18,
        "PETA" => 1e15,
        "TERA" => 1e12,
        "GIGA" => 1e9,
        "MEGA" => 1e6,
        "KILO" => 1e3,
        "HECTO" => 1e2,
        "DECA" => 1e1,
        "DECI" => 1e-1,
        "CENTI" => 1e-2,
        "MILLI" => 1e-3,
        "MICRO" => 1e-6,
        "NANO" => 1e-9,
        "PICO" => 1e-12,
        "FEMTO" => 1e-15,
        "ATTO" => 1e-18,
        _ => return None,
    })
}

/// Lengths that have a name in the trade.
const LENGTHS: [(&str, f64); 8] = [
    ("m", 1.0),
    ("dm", 0.1),
    ("cm", 0.01),
    ("mm", 0.001),
    ("km", 1000.0),
    ("inch", 0.0254),
    ("foot", 0.3048),
    ("yard", 0.9144),
];

/// The unit in words by what it measures, not by what the file calls it.
fn length_name(factor: f64, declared: Option<&str>) -> String {
    // Survey feet and feet rounded to five places differ from the foot; both are called so.
    let near = |length: f64| (factor - length).abs() <= 1e-4 * length;
    let known = LENGTHS.iter().find(|(_, length)| near(*length));
    match (known, declared) {
        (Some((name, _)), _) => (*name).to_owned(),
        (None, Some(declared)) => format!("{} ({factor} m)", declared.trim()),
        (None, None) => format!("unit of {factor} m"),
    }
}

/// The length that a declared name means, where that is plain.
fn length_called(name: &str) -> Option<f64> {
    let name = name.trim().trim_matches('\'').to_ascii_lowercase();
    Some(match name.as_str() {
        "metre" | "meter" => 1.0,
        "millimetre" | "millimeter" => 0.001,
        "centimetre" | "centimeter" => 0.01,
        "inch" => 0.0254,
        "foot" | "feet" => 0.3048,
        _ => return None,
    })
}

fn angle_name(factor: f64) -> String {
    let known = [
        ("radian", 1.0),
        ("degree", std::f64::consts::PI / 180.0),
        ("gon", std::f64::consts::PI / 200.0),
    ];
    let near = |angle: f64| (factor - angle).abs() <= 1e-4 * angle;
    match known.iter().find(|(_, angle)| near(*angle)) {
        Some((name, _)) => (*name).to_owned(),
        None => format!("unit of {factor} radian"),
    }
}

/// What a typed value measures, by its keyword in either case.
pub(crate) fn dimension_of(keyword: &str) -> Option<Dimension> {
    const MEASURES: [(&str, Dimension); 8] = [
        ("IFCLENGTHMEASURE", Dimension::Length),
        ("IFCPOSITIVELENGTHMEASURE", Dimension::Length),
        ("IFCNONNEGATIVELENGTHMEASURE", Dimension::Length),
        ("IFCAREAMEASURE", Dimension::Area),
        ("IFCVOLUMEMEASURE", Dimension::Volume),
        ("IFCPLANEANGLEMEASURE", Dimension::Angle),
        ("IFCPOSITIVEPLANEANGLEMEASURE", Dimension::Angle),
        ("IFCMASSMEASURE", Dimension::Mass),
    ];
    let is = |(measure, _): &&(&str, Dimension)| measure.eq_ignore_ascii_case(keyword);
    MEASURES.iter().find(is).map(|(_, dimension)| *dimension)
}

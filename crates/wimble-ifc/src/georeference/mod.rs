//! Where a model lies on a map. For reports: measuring never needs it.

#[cfg(test)]
mod tests;

use crate::{Model, PropertyValue, class};
use glam::{DVec2, DVec3};
use wimble_step::Row;

/// How a file tells where its model lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum GeoreferenceKind {
    /// `IfcMapConversion` or `IfcMapConversionScaled`.
    MapConversion,
    /// `IfcRigidOperation`.
    RigidOperation,
    /// The property set `ePSet_MapConversion`, a convention for IFC2X3.
    PropertySet,
}

/// Where a model lies on a map: `map = offset + turn(scale · point)`, the point in the file's
/// length unit, the result in the map's.
#[derive(Debug, Clone, PartialEq)]
pub struct Georeference {
    /// How the file tells it.
    pub kind: GeoreferenceKind,
    /// Name of the coordinate reference system, mostly `EPSG:…`.
    pub crs_name: Option<String>,
    /// Its description.
    pub crs_description: Option<String>,
    /// Its geodetic datum.
    pub geodetic_datum: Option<String>,
    /// Its vertical datum.
    pub vertical_datum: Option<String>,
    /// Its projection.
    pub map_projection: Option<String>,
    /// Its zone.
    pub map_zone: Option<String>,
    /// Map coordinates of the model's origin: easting, northing, height, in the map's unit.
    pub offset: DVec3,
    /// Direction of the model's X axis on the map, unit length.
    pub x_axis: DVec2,
    /// From the file's length unit to the map's, along X, Y and Z.
    pub scale: DVec3,
    /// One unit of the map in metres.
    pub metres_per_map_unit: f64,
    /// One length unit of the file in metres.
    metres_per_length: f64,
}

impl Georeference {
    /// Map coordinates (easting, northing, height, in the map's unit) of a point in the world
    /// (metres).
    #[must_use]
    pub fn to_map(&self, point: DVec3) -> DVec3 {
        let scaled = point / self.metres_per_length * self.scale;
        let turned = self.x_axis.rotate(scaled.truncate());
        self.offset + turned.extend(scaled.z)
    }

    /// Reads what the file tells, in the order: a map conversion, a rigid operation, the property
    /// sets of IFC2X3.
    pub(crate) fn read(model: &Model<'_>) -> Option<Self> {
        let operations = model.rows_of_class(class!("IfcCoordinateOperation"));
        let row = operations.first().copied();
        if let Some(other) = operations.get(1) {
            model.note(*other, "a second coordinate operation is given; the first is used");
        }
        match row {
            Some(row) if model.is_a(row, class!("IfcMapConversion")) => {
                Some(Self::map_conversion(model, row))
            }
            Some(row) if model.is_a(row, class!("IfcRigidOperation")) => {
                Some(Self::rigid_operation(model, row))
            }
            _ => Self::property_set(model),
        }
    }

    /// With the target system of an operation and nothing else.
    fn to_crs(model: &Model<'_>, kind: GeoreferenceKind, crs: Option<Row>) -> Self {
        let text = |attribute: &str| model.text(crs?, attribute);
        let unit = crs.and_then(|crs| model.reference(crs, "MapUnit"));
        let metres = unit.and_then(|unit| crate::units::Unit::read(model, unit));
        let metres_per_length = model.units().metres_per_length;
        // A CRS without its own unit is in the project's (IfcProjectedCRS.MapUnit).
        let metres_per_map_unit = metres.map_or(metres_per_length, |unit| unit.factor);
        Self {
            kind,
            crs_name: text("Name"),
            crs_description: text("Description"),
            geodetic_datum: text("GeodeticDatum"),
            vertical_datum: text("VerticalDatum"),
            map_projection: text("MapProjection"),
            map_zone: text("MapZone"),
            offset: DVec3::ZERO,
            x_axis: DVec2::X,
            scale: DVec3::splat(metres_per_length / metres_per_map_unit),
            metres_per_map_unit,
            metres_per_length,
        }
    }

    fn map_conversion(model: &Model<'_>, row: Row) -> Self {
        let crs = model.reference(row, "TargetCRS");
        let mut read = Self::to_crs(model, GeoreferenceKind::MapConversion, crs);
        let number = |attribute: &str| model.number(row, attribute);
        read.set_offset(["Eastings", "Northings", "OrthogonalHeight"].map(number));
        read.set_axis(number("XAxisAbscissa"), number("XAxisOrdinate"));
        if let Some(scale) = read.set_scale(number("Scale")) {
            model.note(row, scale);
        }
        let factors = ["FactorX", "FactorY", "FactorZ"].map(|name| number(name).unwrap_or(1.0));
        read.scale *= DVec3::from_array(factors);
        read
    }

    fn rigid_operation(model: &Model<'_>, row: Row) -> Self {
        let crs = model.reference(row, "TargetCRS");
        let mut read = Self::to_crs(model, GeoreferenceKind::RigidOperation, crs);
        let number = |attribute: &str| model.number(row, attribute);
        read.set_offset(["FirstCoordinate", "SecondCoordinate", "Height"].map(number));
        read
    }

    fn property_set(model: &Model<'_>) -> Option<Self> {
        const CONVERSION: &str = "ePSet_MapConversion";
        const CRS: &str = "ePSet_ProjectedCRS";
        let mut holders = model.rows_of_class(class!("IfcSite"));
        holders.extend(model.rows_of_class(class!("IfcProject")));
        let holds = |row: &&Row| {
            model.properties(**row).iter().any(|set| set.name.eq_ignore_ascii_case(CONVERSION))
        };
        let holder = *holders.iter().find(holds)?;
        let sets = model.properties(holder);
        let of = |set: &str, name: &str| -> Option<PropertyValue> {
            let set = sets.iter().find(|found| found.name.eq_ignore_ascii_case(set))?;
            set.property(name).cloned()
        };
        let number = |name: &str| of(CONVERSION, name)?.number();
        let text = |name: &str| of(CRS, name)?.text();
        let mut read = Self::to_crs(model, GeoreferenceKind::PropertySet, None);
        read.crs_name = text("Name").or_else(|| of(CONVERSION, "TargetCRS")?.text());
        read.crs_description = text("Description");
        read.geodetic_datum = text("GeodeticDatum");
        read.vertical_datum = text("VerticalDatum");
        read.map_projection = text("MapProjection");
        read.map_zone = text("MapZone");
        read.set_offset(["Eastings", "Northings", "OrthogonalHeight"].map(number));
        read.set_axis(number("XAxisAbscissa"), number("XAxisOrdinate"));
        if let Some(scale) = read.set_scale(number("Scale")) {
            model.note(holder, scale);
        }
        Some(read)
    }

    fn set_offset(&mut self, offset: [Option<f64>; 3]) {
        self.offset = DVec3::from_array(offset.map(|number| number.unwrap_or(0.0)));
    }

    fn set_axis(&mut self, abscissa: Option<f64>, ordinate: Option<f64>) {
        let axis = DVec2::new(abscissa.unwrap_or(1.0), ordinate.unwrap_or(0.0));
        self.x_axis = axis.try_normalize().unwrap_or(DVec2::X);
    }

    /// Takes the scale that the file gives. One is often left out, or given as 1, where the units
    /// of file and map differ: then the units decide, with a remark.
    fn set_scale(&mut self, given: Option<f64>) -> Option<String> {
        /// Map scales differ from 1 by far less, units by more.
        const NEAR: f64 = 0.01;
        let by_units = self.metres_per_length / self.metres_per_map_unit;
        let given = given.filter(|scale| *scale > 0.0)?;
        let near = |wanted: f64| (given / wanted - 1.0).abs() < NEAR;
        if near(1.0) && (by_units - 1.0).abs() >= NEAR {
            self.scale = DVec3::splat(by_units * given);
            let text = format!("the map conversion's scale is {given} though the units differ");
            return Some(format!("{text} by {by_units}; the units are allowed for"));
        }
        self.scale = DVec3::splat(given);
        let text = format!("the map conversion's scale is {given} where the units make it");
        (!near(by_units)).then(|| format!("{text} {by_units}; it is used as given"))
    }
}

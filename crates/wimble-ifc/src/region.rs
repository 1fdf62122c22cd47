//! Hints at the country that a building stands in.

use crate::{Model, class};
use wimble_step::Row;

/// What a file says of the place of its building. A hint only: templates carry the addresses of
/// their makers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Region {
    /// Country of the building's address, else of the site's.
    pub country: Option<String>,
    /// Region (state, county) of that address.
    pub region: Option<String>,
    /// Town of that address.
    pub town: Option<String>,
    /// Name of the coordinate reference system.
    pub crs_name: Option<String>,
    /// Latitude of the site, degrees north.
    pub latitude_deg: Option<f64>,
    /// Longitude of the site, degrees east.
    pub longitude_deg: Option<f64>,
    /// Elevation of the site above the datum, metres.
    pub elevation_m: Option<f64>,
    /// True north in the world's x–y plane as an angle from Y, degrees, counter-clockwise.
    pub true_north_deg: Option<f64>,
}

impl Model<'_> {
    /// What the file says of the place of its building.
    #[must_use]
    pub fn site_region(&self) -> Region {
        let sites = self.rows_of_class(class!("IfcSite"));
        let buildings = self.rows_of_class(class!("IfcBuilding"));
        let of_buildings =
            buildings.iter().filter_map(|row| self.reference(*row, "BuildingAddress"));
        let of_sites = sites.iter().filter_map(|row| self.reference(*row, "SiteAddress"));
        let addresses: Vec<Row> = of_buildings.chain(of_sites).collect();
        let told = |attribute: &str| addresses.iter().find_map(|row| self.text(*row, attribute));
        let angle =
            |attribute: &str| sites.iter().find_map(|row| degrees(&self.numbers(*row, attribute)));
        let metres = self.units().metres_per_length;
        let elevation = sites.iter().find_map(|row| self.number(*row, "RefElevation"));
        let north = self.context().true_north;
        Region {
            country: told("Country"),
            region: told("Region"),
            town: told("Town"),
            crs_name: self.georeference().and_then(|found| found.crs_name.clone()),
            latitude_deg: angle("RefLatitude"),
            longitude_deg: angle("RefLongitude"),
            elevation_m: elevation.map(|elevation| elevation * metres),
            true_north_deg: north.map(|north| (-north.x).atan2(north.y).to_degrees()),
        }
    }
}

/// A compound plane angle: degrees, minutes, seconds and millionths of a second. All parts have
/// the angle's sign; exporters that only sign the first are understood too.
fn degrees(parts: &[f64]) -> Option<f64> {
    let (degrees, minutes, seconds) = match parts {
        [degrees, minutes, seconds] => (*degrees, *minutes, *seconds),
        [degrees, minutes, seconds, millionths] => {
            (*degrees, *minutes, seconds.abs() + millionths.abs() / 1e6)
        }
        _ => return None,
    };
    let size = degrees.abs() + minutes.abs() / 60.0 + seconds.abs() / 3600.0;
    let negative = parts.iter().any(|part| *part < 0.0);
    Some(if negative { -size } else { size })
}

#[cfg(test)]
mod tests {
    use super::degrees;

    #[test]
    fn compound_angles_take_the_sign_of_any_part() {
        assert_eq!(degrees(&[51.0, 30.0, 0.0]), Some(51.5));
        assert_eq!(degrees(&[-0.0, -7.0, -30.0]), Some(-0.125));
        assert_eq!(degrees(&[-33.0, 30.0, 0.0, 0.0]), Some(-33.5));
        assert_eq!(degrees(&[1.0, 0.0, 0.0, 3_600_000_000.0]), Some(2.0));
        assert_eq!(degrees(&[]), None);
    }
}

//! Outlines of rolled and bent profiles: I, T, L, U, Z and C, with their fillets and slopes.

use super::reader::{Entity, Read, Reader};
use crate::Schema;
use glam::DVec2;
use wimble_geom::Ring;

/// A corner of an outline and the radius that rounds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Corner {
    pub(super) at: DVec2,
    pub(super) radius: f64,
}

fn corner(x: f64, y: f64, radius: f64) -> Corner {
    Corner { at: DVec2::new(x, y), radius }
}

impl<'m> Reader<'m, '_> {
    /// The corners of a profile of this family, counter-clockwise, centred on its box.
    pub(super) fn steel(&self, entity: &Entity<'m>) -> Read<Vec<Corner>> {
        let size = |place: usize, what: &str| self.size(entity, place, what);
        let optional = |place: usize| self.length_or(entity, place, 0.0).max(0.0);
        let slope = |place: usize| {
            let angle = entity.get(place).number().unwrap_or(0.0) * self.radians;
            if angle.abs() < 1.2 { angle.tan() } else { 0.0 }
        };
        let fourth = self.schema != Schema::Ifc2x3;
        let corners = match entity.keyword {
            "IFCISHAPEPROFILEDEF" => {
                let flange = Flange {
                    width: size(3, "OverallWidth")?,
                    thickness: size(6, "FlangeThickness")?,
                    fillet: optional(7),
                    edge: if fourth { optional(8) } else { 0.0 },
                    slope: if fourth { slope(9) } else { 0.0 },
                };
                i_shape(size(4, "OverallDepth")?, size(5, "WebThickness")?, &flange, &flange)
            }
            "IFCASYMMETRICISHAPEPROFILEDEF" => {
                let (depth, web) = (size(4, "OverallDepth")?, size(5, "WebThickness")?);
                let (bottom_edge, bottom_slope) =
                    if fourth { (optional(11), slope(12)) } else { (0.0, 0.0) };
                let (top_edge, top_slope) =
                    if fourth { (optional(13), slope(14)) } else { (0.0, 0.0) };
                let bottom = Flange {
                    width: size(3, "bottom flange width")?,
                    thickness: size(6, "bottom flange thickness")?,
                    fillet: optional(7),
                    edge: bottom_edge,
                    slope: bottom_slope,
                };
                let top = Flange {
                    width: size(8, "TopFlangeWidth")?,
                    thickness: if optional(9) > 0.0 { optional(9) } else { bottom.thickness },
                    fillet: if entity.get(10).is_unset() { bottom.fillet } else { optional(10) },
                    edge: top_edge,
                    slope: top_slope,
                };
                i_shape(depth, web, &bottom, &top)
            }
            "IFCTSHAPEPROFILEDEF" => {
                let (depth, width, web, flange) = (
                    size(3, "Depth")?,
                    size(4, "FlangeWidth")?,
                    size(5, "WebThickness")?,
                    size(6, "FlangeThickness")?,
                );
                let (fillet, flange_edge, web_edge) = (optional(7), optional(8), optional(9));
                let (web_slope, flange_slope) = (slope(10), slope(11));
                let (top, bottom) = (depth / 2.0, -depth / 2.0);
                // Thicknesses hold half-way: along the free web, and along the flange's outstand.
                let free = depth - flange;
                let (web_low, web_high) =
                    (web / 2.0 - web_slope * free / 2.0, web / 2.0 + web_slope * free / 2.0);
                let out = (width - web) / 2.0;
                let (edge, root) =
                    (flange - flange_slope * out / 2.0, flange + flange_slope * out / 2.0);
                let w = width / 2.0;
                vec![
                    corner(-web_low, bottom, web_edge),
                    corner(web_low, bottom, web_edge),
                    corner(web_high, top - root, fillet),
                    corner(w, top - edge, flange_edge),
                    corner(w, top, 0.0),
                    corner(-w, top, 0.0),
                    corner(-w, top - edge, flange_edge),
                    corner(-web_high, top - root, fillet),
                ]
            }
            "IFCLSHAPEPROFILEDEF" => {
                let depth = size(3, "Depth")?;
                let width = if optional(4) > 0.0 { optional(4) } else { depth };
                let (thick, fillet, edge, rise) =
                    (size(5, "Thickness")?, optional(6), optional(7), slope(8));
                let (w, d) = (width / 2.0, depth / 2.0);
                let (out_x, out_y) = (width - thick, depth - thick);
                let (x_edge, y_edge) = (thick - rise * out_x / 2.0, thick - rise * out_y / 2.0);
                // Where the two inner faces, each rising towards the corner, meet.
                let meet = |near: f64, far: f64, along: f64, across: f64| {
                    (near + rise * along - rise * far - rise * rise * across) / (1.0 - rise * rise)
                };
                let (inner_x, inner_y) =
                    (meet(y_edge, x_edge, depth, width), meet(x_edge, y_edge, width, depth));
                vec![
                    corner(-w, -d, 0.0),
                    corner(w, -d, 0.0),
                    corner(w, -d + x_edge, edge),
                    corner(-w + inner_x, -d + inner_y, fillet),
                    corner(-w + y_edge, d, edge),
                    corner(-w, d, 0.0),
                ]
            }
            "IFCUSHAPEPROFILEDEF" => {
                let (depth, width, web, flange) = (
                    size(3, "Depth")?,
                    size(4, "FlangeWidth")?,
                    size(5, "WebThickness")?,
                    size(6, "FlangeThickness")?,
                );
                let (fillet, edge, rise) = (
                    optional(7),
                    optional(8),
                    if fourth || entity.record.len() > 9 { slope(9) } else { 0.0 },
                );
                let (w, d, out) = (width / 2.0, depth / 2.0, width - web);
                let (tip, root) = (flange - rise * out / 2.0, flange + rise * out / 2.0);
                vec![
                    corner(-w, -d, 0.0),
                    corner(w, -d, 0.0),
                    corner(w, -d + tip, edge),
                    corner(-w + web, -d + root, fillet),
                    corner(-w + web, d - root, fillet),
                    corner(w, d - tip, edge),
                    corner(w, d, 0.0),
                    corner(-w, d, 0.0),
                ]
            }
            "IFCZSHAPEPROFILEDEF" => {
                let (depth, width, web, flange) = (
                    size(3, "Depth")?,
                    size(4, "FlangeWidth")?,
                    size(5, "WebThickness")?,
                    size(6, "FlangeThickness")?,
                );
                let (fillet, edge) = (optional(7), optional(8));
                let (d, near, far) = (depth / 2.0, web / 2.0, width - web / 2.0);
                vec![
                    corner(-near, -d, 0.0),
                    corner(far, -d, 0.0),
                    corner(far, -d + flange, edge),
                    corner(near, -d + flange, fillet),
                    corner(near, d, 0.0),
                    corner(-far, d, 0.0),
                    corner(-far, d - flange, edge),
                    corner(-near, d - flange, fillet),
                ]
            }
            _ => {
                // C: a bent strip with lips.
                let (depth, width, wall, girth) = (
                    size(3, "Depth")?,
                    size(4, "Width")?,
                    size(5, "WallThickness")?,
                    size(6, "Girth")?,
                );
                let inner = optional(7);
                let outer = if inner > 0.0 { inner + wall } else { 0.0 };
                let (w, d) = (width / 2.0, depth / 2.0);
                vec![
                    corner(-w, -d, outer),
                    corner(w, -d, outer),
                    corner(w, -d + girth, 0.0),
                    corner(w - wall, -d + girth, 0.0),
                    corner(w - wall, -d + wall, inner),
                    corner(-w + wall, -d + wall, inner),
                    corner(-w + wall, d - wall, inner),
                    corner(w - wall, d - wall, inner),
                    corner(w - wall, d - girth, 0.0),
                    corner(w, d - girth, 0.0),
                    corner(w, d, outer),
                    corner(-w, d, outer),
                ]
            }
        };
        Ok(corners)
    }

    /// An outline with its corners rounded, arcs as chords. A radius that does not fit between
    /// its neighbours is made to.
    pub(super) fn round_corners(&self, corners: &[Corner]) -> Ring {
        let n = corners.len();
        let mut ring = Ring::new();
        for i in 0..n {
            let (before, here, after) =
                (corners[(i + n - 1) % n].at, corners[i], corners[(i + 1) % n].at);
            let (back, on) = ((before - here.at), (after - here.at));
            let (Some(to_back), Some(to_on)) = (back.try_normalize(), on.try_normalize()) else {
                ring.push(here.at);
                continue;
            };
            let angle = to_back.dot(to_on).clamp(-1.0, 1.0).acos();
            if here.radius <= 1e-9 || !(0.01..3.13).contains(&angle) {
                ring.push(here.at);
                continue;
            }
            let most = back.length().min(on.length());
            let reach = (here.radius / (angle / 2.0).tan()).min(most * 0.999_999);
            let radius = reach * (angle / 2.0).tan();
            let (start, end) = (here.at + to_back * reach, here.at + to_on * reach);
            let middle =
                here.at + (to_back + to_on).normalize_or_zero() * (radius / (angle / 2.0).sin());
            let chords = (wimble_geom::circle_chords(radius, self.chord) as f64
                * (std::f64::consts::PI - angle)
                / std::f64::consts::TAU)
                .ceil()
                .max(2.0) as usize;
            let (a, b) = (start - middle, end - middle);
            let sweep = a.perp_dot(b).atan2(a.dot(b));
            for k in 0..=chords {
                ring.push(middle + DVec2::from_angle(sweep * k as f64 / chords as f64).rotate(a));
            }
        }
        ring
    }
}

struct Flange {
    width: f64,
    thickness: f64,
    fillet: f64,
    edge: f64,
    slope: f64,
}

fn i_shape(depth: f64, web: f64, bottom: &Flange, top: &Flange) -> Vec<Corner> {
    let d = depth / 2.0;
    let (b, t) = (bottom.width / 2.0, top.width / 2.0);
    let thickness = |flange: &Flange| {
        // The nominal thickness holds in the middle of the outstand.
        let out = (flange.width - web) / 2.0;
        (flange.thickness - flange.slope * out / 2.0, flange.thickness + flange.slope * out / 2.0)
    };
    let ((bottom_tip, bottom_root), (top_tip, top_root)) = (thickness(bottom), thickness(top));
    let w = web / 2.0;
    vec![
        corner(-b, -d, 0.0),
        corner(b, -d, 0.0),
        corner(b, -d + bottom_tip, bottom.edge),
        corner(w, -d + bottom_root, bottom.fillet),
        corner(w, d - top_root, top.fillet),
        corner(t, d - top_tip, top.edge),
        corner(t, d, 0.0),
        corner(-t, d, 0.0),
        corner(-t, d - top_tip, top.edge),
        corner(-w, d - top_root, top.fillet),
        corner(-w, -d + bottom_root, bottom.fillet),
        corner(-b, -d + bottom_tip, bottom.edge),
    ]
}

//! The rules of `uk-solid-joist`, read from their table and written out once more for tests.
//!
//! Figures: `docs/rules` gives the sources (LABC, TRADA, NHBC, NBS for the zones, depths, sizes and
//! distances; the tolerance on the level is the project's own).

use super::Floor;
use super::closed_form::{Doubt, ExpectedCut, Hair, Shape, span_of, spans};

/// In rising gravity, as `product.md` has it: fail, then refer, then unknown, then pass.
const ORDER: [&str; 4] = ["pass", "unknown", "refer", "fail"];

fn worse(cut: &mut ExpectedCut, verdict: &'static str) {
    let rank = |word: &str| ORDER.iter().position(|known| *known == word);
    if rank(verdict) > rank(cut.verdict) {
        cut.verdict = verdict;
    }
}

pub(super) fn judge(cuts: &mut [ExpectedCut], floor: &Floor, hair: &mut Hair) -> Result<(), Doubt> {
    for cut in &mut *cuts {
        always(cut, floor, hair);
    }
    both_edges(cuts, floor, hair)?;
    apart_from_odd_ones(cuts, floor)?;
    let several = spans(floor).len() > 1;
    let h = floor.depth;
    for cut in &mut *cuts {
        let notch = cut.kind.ends_with("notch");
        if !hair.slack(h - 100.0) {
            match cut.kind {
                "hole" => worse(cut, "refer"),
                _ if notch => worse(cut, "fail"),
                "severed" | "end-cut" | "lengthwise" => worse(cut, "refer"),
                _ => return Err(Doubt::NoClosedForm),
            }
        } else if !hair.slack(250.0 - h) || several {
            worse(cut, "refer");
        } else if notch {
            one_notch(cut, floor, hair);
        } else if cut.kind == "hole" {
            one_hole(cut, floor, hair);
        } else if cut.kind != "lengthwise" {
            worse(cut, "fail");
        } else {
            worse(cut, "refer");
        }
    }
    if (100.0..=250.0).contains(&h) && !several {
        distances(cuts, hair);
    }
    Ok(())
}

/// Whatever the scope: severed, end-cut, standing proud, lengthwise, over a bearing.
fn always(cut: &mut ExpectedCut, floor: &Floor, hair: &mut Hair) {
    if matches!(cut.kind, "severed" | "end-cut") {
        worse(cut, "fail");
    }
    // A riser stands out of the depth by its nature; it is a bore or worse.
    if !matches!(cut.kind, "severed" | "bore") && !hair.slack(1.0 - cut.proud) {
        worse(cut, "fail");
    }
    if cut.kind == "lengthwise" {
        let long = !hair.slack(floor.depth / 2.0 - (cut.max.x - cut.min.x));
        worse(cut, if long { "fail" } else { "refer" });
    }
    for wall in &floor.walls {
        let bearing = [
            (wall[0] - floor.ends[0]).max(0.0),
            (wall[1] - floor.ends[0]).min(floor.ends[1] - floor.ends[0]),
        ];
        // An interval that only touches the face does not lie over the bearing.
        let over = hair.slack(cut.max.x - bearing[0]) && hair.slack(bearing[1] - cut.min.x);
        if over {
            worse(cut, "fail");
        }
    }
}

fn gap(a: &ExpectedCut, b: &ExpectedCut) -> f64 {
    (a.min.x - b.max.x).max(b.min.x - a.max.x)
}

fn pairs(cuts: &mut [ExpectedCut], mut rule: impl FnMut(&mut ExpectedCut, &mut ExpectedCut)) {
    for later in 1..cuts.len() {
        let (first, rest) = cuts.split_at_mut(later);
        if let Some(b) = rest.first_mut() {
            for a in first {
                rule(a, b);
            }
        }
    }
}

/// A top and a bottom notch: near each other both fail; in the same half of the span, refer.
fn both_edges(cuts: &mut [ExpectedCut], floor: &Floor, hair: &mut Hair) -> Result<(), Doubt> {
    let mut doubt = Ok(());
    pairs(cuts, |a, b| {
        let kinds = [a.kind, b.kind];
        if kinds != ["top-notch", "bottom-notch"] && kinds != ["bottom-notch", "top-notch"] {
            return;
        }
        let verdict = if hair.slack(gap(a, b) - floor.depth.max(100.0)) {
            let (Some(span), Some(other)) = (span_of(a, floor, hair), span_of(b, floor, hair))
            else {
                doubt = Err(Doubt::NoClosedForm);
                return;
            };
            if span != other {
                return;
            }
            let middle = f64::midpoint(span[0], span[1]);
            let mut left =
                |cut: &ExpectedCut| hair.slack(middle - f64::midpoint(cut.min.x, cut.max.x));
            if left(a) != left(b) {
                return;
            }
            // Outside its scope the pack speaks of such a pair only when it is near.
            if (100.0..=250.0).contains(&floor.depth) { "refer" } else { return }
        } else {
            "fail"
        };
        worse(a, verdict);
        worse(b, verdict);
    });
    doubt
}

/// Bores, side cuts and the like must stand so far off that no rule of distance can be meant.
fn apart_from_odd_ones(cuts: &mut [ExpectedCut], floor: &Floor) -> Result<(), Doubt> {
    let ordinary = |cut: &ExpectedCut| cut.kind == "hole" || cut.kind.ends_with("notch");
    let mut doubt = Ok(());
    pairs(cuts, |a, b| {
        let size = (a.max - a.min).max_element().max((b.max - b.min).max_element());
        if !(ordinary(a) && ordinary(b)) && gap(a, b) < 3.0 * size.min(600.0) + floor.depth {
            doubt = Err(Doubt::NoClosedForm);
        }
    });
    doubt
}

/// A zone holds if the whole of `[x0, x1]` lies in it from one of the span's faces.
fn zone(x: [f64; 2], span: [f64; 2], from: f64, to: f64, hair: &mut Hair) -> bool {
    let length = span[1] - span[0];
    let near = [x[0] - span[0], x[1] - span[0]];
    let far = [span[1] - x[1], span[1] - x[0]];
    let mut any = false;
    for [a, b] in [near, far] {
        let (start, end) = (hair.slack(a - from * length), hair.slack(to * length - b));
        any |= start && end;
    }
    any
}

fn one_notch(cut: &mut ExpectedCut, floor: &Floor, hair: &mut Hair) {
    let h = floor.depth;
    let deep = cut.max.z - cut.min.z;
    let shallow = hair.slack((0.125 * h).min(35.0) - deep);
    let deeper = hair.slack((0.15 * h).min(35.0) - deep);
    if !deeper {
        worse(cut, "fail");
        return;
    }
    let Some(span) = span_of(cut, floor, hair) else {
        worse(cut, "fail"); // beyond the outer bearings no zone holds it
        return;
    };
    let x = [cut.min.x, cut.max.x];
    let wide = zone(x, span, 0.07, 0.25, hair) && shallow;
    let narrow = zone(x, span, 0.10, 0.20, hair) && deeper;
    if !(wide || narrow) {
        worse(cut, "fail");
    } else if cut.kind == "bottom-notch" {
        worse(cut, "refer");
    }
}

fn one_hole(cut: &mut ExpectedCut, floor: &Floor, hair: &mut Hair) {
    let h = floor.depth;
    let (x, z, height) = measure(cut);
    let limit = (0.25 * h).min(65.0);
    let fits = hair.slack(limit - height);
    if !fits {
        worse(cut, "fail");
    } else if cut.bit.is_some_and(|bit| cut.circle.is_none() && !hair.slack(limit - bit)) {
        worse(cut, "refer");
    }
    let centre = f64::midpoint(z[0], z[1]).abs();
    if !hair.slack((0.03 * h).max(3.0) - centre) {
        let inside = hair.slack(h / 4.0 - (centre + height / 2.0));
        worse(cut, if inside { "refer" } else { "fail" });
    }
    if cut.shape == Shape::Rectangular {
        worse(cut, "refer");
    }
    match span_of(cut, floor, hair) {
        Some(span) if zone(x, span, 0.25, 0.40, hair) => {}
        _ => worse(cut, "fail"),
    }
}

/// What every rule uses of a hole: its envelope, or the square round its circle if it is shared.
fn measure(cut: &ExpectedCut) -> ([f64; 2], [f64; 2], f64) {
    match cut.circle {
        Some((centre, diameter)) => {
            let r = diameter / 2.0;
            ([centre.x - r, centre.x + r], [centre.y - r, centre.y + r], diameter)
        }
        None => ([cut.min.x, cut.max.x], [cut.min.z, cut.max.z], cut.max.z - cut.min.z),
    }
}

/// Holes three diameters apart, holes and notches 100 mm.
fn distances(cuts: &mut [ExpectedCut], hair: &mut Hair) {
    pairs(cuts, |a, b| {
        let hole = |cut: &ExpectedCut| cut.kind == "hole";
        let notch = |cut: &ExpectedCut| cut.kind.ends_with("notch");
        let holds = if hole(a) && hole(b) {
            let centre = |cut: &ExpectedCut| {
                let (x, z, _) = measure(cut);
                glam::dvec2(f64::midpoint(x[0], x[1]), f64::midpoint(z[0], z[1]))
            };
            let size = |cut: &ExpectedCut| {
                let (x, z, _) = measure(cut);
                (x[1] - x[0]).max(z[1] - z[0])
            };
            hair.slack(centre(a).distance(centre(b)) - 3.0 * size(a).max(size(b)))
        } else if (hole(a) && notch(b)) || (notch(a) && hole(b)) {
            let (a, b) = (measure(a).0, measure(b).0);
            hair.slack((a[0] - b[1]).max(b[0] - a[1]) - 100.0)
        } else {
            true
        };
        if !holds {
            worse(a, "fail");
            worse(b, "fail");
        }
    });
}

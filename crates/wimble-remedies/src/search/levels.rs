//! The levels at which something may change: finitely many.

use super::crossing::Crossing;
use super::{FAR_MM, PAST_MM, Search};
use crate::body::{reach, side_by_side};
use wimble_model::Verdict;
use wimble_rules::Turning;

/// Services this near may have to be passed above or below, mm.
const BESIDE_MM: f64 = 1000.0;

impl Search<'_, '_> {
    /// Every shift up or down at which something changes, the least first. `with_along`: for a
    /// search both ways.
    pub(super) fn levels(&self, with_along: bool) -> Vec<f64> {
        let mut found: Vec<f64> = Vec::new();
        for crossing in self.crossings.iter().filter(|c| c.target < Verdict::Fail) {
            self.levels_of(crossing, with_along, &mut found);
        }
        self.levels_beside(with_along, &mut found);
        let within = self.levels_within();
        let mut exact: Vec<f64> = found
            .iter()
            .flat_map(|up| [*up, up.floor(), up.ceil()])
            .filter(|up| up.abs() > 1e-6 && (within[0]..=within[1]).contains(up))
            .collect();
        exact.sort_by(|a, b| a.abs().total_cmp(&b.abs()).then(a.total_cmp(b)));
        exact.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        exact
    }

    /// Shifts up or down that leave it in the depth of every member that it has to pass.
    fn levels_within(&self) -> [f64; 2] {
        let mut within = [-FAR_MM, FAR_MM];
        for crossing in self.crossings.iter().filter(|c| c.target < Verdict::Fail) {
            let (Some([_, up]), Some([bare, _])) = (crossing.rates, crossing.depth) else {
                continue;
            };
            let Some(member) = self.shop.scene.members.get(crossing.member.at()) else { continue };
            let half = member.section.depth_mm() / 2.0;
            let (a, b) = ((-half - bare.1) / up[1], (half - bare.0) / up[1]);
            if !self.may_leave && up[1].abs() > 1e-6 {
                within = [within[0].max(a.min(b)), within[1].min(a.max(b))];
            }
        }
        within
    }

    /// Levels at which it comes past other services, and where circles round those that lie
    /// beside it turn.
    fn levels_beside(&self, with_along: bool, found: &mut Vec<f64>) {
        for piece in &self.mover.pieces {
            let Some(body) = self.shop.body(*piece) else { continue };
            let own = self.shop.crosser.reach_mm(*piece);
            let mut circles = Vec::new();
            for other in self.shop.crosser.services_near(body, BESIDE_MM) {
                let in_mover = self.mover.pieces.contains(&other);
                let Some(beside) = self.shop.body(other).filter(|_| !in_mover) else { continue };
                if self.shop.of_one_run(other, *piece) {
                    continue;
                }
                let needs = own + self.shop.crosser.reach_mm(other) + PAST_MM;
                let round = side_by_side(body, beside).map(|(offset, radii)| {
                    [offset.dot(self.along), offset.dot(self.up), radii + needs]
                });
                // What runs beside it stays beside it where it only goes up or down.
                if !with_along && round.is_some_and(|[x, _, radius]| x.abs() > radius) {
                    continue;
                }
                let (low, high) = reach(body, self.up);
                let (their_low, their_high) = reach(beside, self.up);
                found.push(1000.0 * (their_high - low) + needs);
                found.push(1000.0 * (their_low - high) - needs);
                circles.extend(round);
            }
            around(&circles, 0.0, &[], with_along, &mut |z| found.push(z));
        }
    }

    fn levels_of(&self, crossing: &Crossing<'_>, with_along: bool, found: &mut Vec<f64>) {
        let (Some([along, up]), Some([bare, whole])) = (crossing.rates, crossing.depth) else {
            return;
        };
        let Some(member) = self.shop.scene.members.get(crossing.member.at()) else { return };
        if up[1].abs() < 1e-6 {
            return;
        }
        let half = member.section.depth_mm() / 2.0;
        let middle = f64::midpoint(whole.0, whole.1);
        // A shift that brings the whole service from one level to another.
        let by = |from: f64, to: f64| (to - from) / up[1];
        let flush = [by(bare.1, half), by(bare.0, -half)];
        let reached = [by(whole.1, half - 1.0), by(whole.0, 1.0 - half)];
        found.extend([by(bare.1, half + 1.0), by(bare.0, -half - 1.0)]);
        found.extend(flush);
        found.extend(reached);
        for past in [PAST_MM, -PAST_MM] {
            found.extend([by(whole.1, half - 1.0 + past), by(whole.0, 1.0 - half - past)]);
        }
        for n in &crossing.neighbours {
            found.extend([by(whole.0, n.max_mm.z + PAST_MM), by(whole.1, n.min_mm.z - PAST_MM)]);
        }
        for shown in [by(middle, 0.0), flush[0], flush[1]] {
            for cut in self.shown(crossing, along[0], shown).1 {
                let neighbours = &crossing.neighbours;
                let services = &self.shop.scene.services;
                let turnings = crossing.rules.turnings(&cut, neighbours, services);
                let mut circles = Vec::new();
                for turning in turnings {
                    match turning {
                        Turning::Middle(z) => found.push(by(middle, z)),
                        Turning::Lower(z) => found.push(by(whole.0, z)),
                        Turning::Upper(z) => found.push(by(whole.1, z)),
                        Turning::Circle { x_mm, z_mm, radius_mm } => {
                            circles.push([x_mm - cut.mid_x_mm(), z_mm, radius_mm]);
                        }
                    }
                }
                let ends: Vec<f64> = if with_along && !circles.is_empty() {
                    let windows = crossing.windows(self.shop, &cut);
                    windows.iter().flat_map(|(a, b)| [a, b]).map(|x| x - cut.mid_x_mm()).collect()
                } else {
                    Vec::new()
                };
                around(&circles, middle, &ends, with_along, &mut |z| found.push(by(middle, z)));
            }
        }
    }
}

/// Levels of the middle that circles round neighbours (x from the cut, z, radius) make where the
/// cut stands; for a search both ways also their tops, the point nearest to it, and where they meet
/// each other and the ends of windows.
fn around(
    circles: &[[f64; 3]],
    middle: f64,
    ends: &[f64],
    with_along: bool,
    give: &mut dyn FnMut(f64),
) {
    let at = |[x, z, r]: [f64; 3], here: f64, give: &mut dyn FnMut(f64)| {
        let left = r * r - (here - x) * (here - x);
        if left >= 0.0 {
            give(z + left.sqrt());
            give(z - left.sqrt());
        }
    };
    for (n, &circle) in circles.iter().enumerate() {
        let [x, z, r] = circle;
        at(circle, 0.0, give);
        if !with_along {
            continue;
        }
        give(z + r);
        give(z - r);
        for &end in ends {
            at(circle, end, give);
        }
        let away = x.hypot(middle - z);
        if away > 1e-9 {
            give(z + r * (middle - z) / away);
        }
        for &[x2, z2, r2] in circles.iter().skip(n + 1) {
            let (dx, dz) = (x2 - x, z2 - z);
            let d = dx.hypot(dz);
            if d < 1e-9 || d > r + r2 || d < (r - r2).abs() {
                continue;
            }
            let a = (d * d + r * r - r2 * r2) / (2.0 * d);
            let h = (r * r - a * a).max(0.0).sqrt();
            give(z + a * dz / d + h * dx / d);
            give(z + a * dz / d - h * dx / d);
        }
    }
}

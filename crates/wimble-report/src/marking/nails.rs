//! Where a nail or a screw through the deck would meet a pipe or a cable.

use crate::Report;
use crate::drawing::{NailStrip, Plan};
use crate::say;
use wimble_model::{CutKind, Place, Verdict};

/// Wood over a service that keeps a nail from it: the greatest that any of our sources asks for
/// (50 mm, United Kingdom; `docs/practice.md`).
const COVER_MM: f64 = 50.0;
/// Marked this far past the cut on either side.
const BESIDE_MM: f64 = 25.0;

/// A plan with its strips, and the same in words.
pub(super) struct Drawn {
    pub(super) plan: String,
    pub(super) rows: Vec<String>,
}

/// The plan of a storey's strips; `None` where no nail would meet anything.
pub(super) fn draw(report: &Report, plan: &Plan<'_>) -> Option<Drawn> {
    let mut strips = Vec::new();
    let mut rows = Vec::new();
    for (ix, member) in plan.members() {
        if !matches!(member.place, Place::Floor | Place::FlatRoof) {
            continue;
        }
        for cut in plan.cuts_of(ix) {
            let holds_service = !cut.services.is_empty() && cut.kind != CutKind::Joinery;
            let over_mm = 0.5 * member.section.depth_mm() - cut.max_mm.z;
            if !holds_service || cut.verdict == Verdict::Fail || over_mm >= COVER_MM {
                continue;
            }
            let cover = over_mm.max(0.0).floor();
            strips.push(NailStrip {
                member: ix,
                from_mm: cut.min_mm.x - BESIDE_MM,
                to_mm: cut.max_mm.x + BESIDE_MM,
                says: say::mm(cover),
            });
            let span = cut.span.and_then(|s| member.spans.get(s as usize));
            let (face, from) = span.map_or((0.0, ""), |s| (s.from_mm, "bearing face at the "));
            rows.push(format!(
                "{}: {} to {} mm from the {from}{}, {} mm of wood over {}",
                super::sheets::mark(ix, member),
                say::mm((cut.min_mm.x - face - BESIDE_MM).floor()),
                say::mm((cut.max_mm.x - face + BESIDE_MM).ceil()),
                say::end_word(&member.frame, false),
                say::mm(cover),
                say::services(report, cut)
            ));
        }
    }
    if strips.is_empty() {
        return None;
    }
    rows.sort_by_cached_key(|row| say::natural(row));
    Some(Drawn { plan: plan.inline_with(&strips), rows })
}

//! Where a nail or a screw would meet a pipe or a cable: through a deck from above, through a
//! ceiling from below, through the lining of a wall from either side.

use crate::drawing::{NailStrip, Plan};
use crate::{Report, say};
use std::collections::BTreeMap;
use wimble_model::{Cut, CutKind, Member, Place, Verdict};

/// Wood over a service that keeps a nail from it: the greatest that any of our sources asks for
/// (50 mm, United Kingdom; `docs/practice.md`).
const COVER_MM: f64 = 50.0;
/// Marked this far past the cut on either side.
const BESIDE_MM: f64 = 25.0;

/// The strips of a storey.
pub(super) struct Drawn {
    /// The plan of those under the deck, if there are any.
    pub(super) plan: Option<String>,
    /// The same and the others in words, by the side that a nail comes from.
    pub(super) sides: Vec<Side>,
}

/// Strips that are reached from one side.
pub(super) struct Side {
    pub(super) heading: String,
    pub(super) rows: Vec<String>,
}

/// From where a nail comes. The order of the sheets.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum From {
    Above,
    Below,
    /// The face of a wall, by the way that it looks.
    Wall(&'static str),
}

impl From {
    fn heading(&self) -> String {
        match self {
            Self::Above => "Through the deck, from above".to_owned(),
            Self::Below => "Through a ceiling, from below".to_owned(),
            Self::Wall(face) => format!("Through the lining of walls, from the {face}"),
        }
    }
}

/// The strips of a plan's storey; `None` where no nail would meet anything.
pub(super) fn draw(report: &Report, plan: &Plan<'_>) -> Option<Drawn> {
    let mut strips = Vec::new();
    // What is said alike of several members is said once.
    let mut told: BTreeMap<(From, String), Vec<String>> = BTreeMap::new();
    for (ix, member) in plan.members() {
        for cut in plan.cuts_of(ix) {
            let holds_service = !cut.services.is_empty() && cut.kind != CutKind::Joinery;
            if !holds_service || cut.verdict == Verdict::Fail {
                continue;
            }
            for (from, cover) in covers(member, cut) {
                if cover >= COVER_MM {
                    continue;
                }
                let cover = cover.max(0.0).floor();
                if from == From::Above {
                    strips.push(NailStrip {
                        member: ix,
                        from_mm: cut.min_mm.x - BESIDE_MM,
                        to_mm: cut.max_mm.x + BESIDE_MM,
                        says: say::mm(cover),
                    });
                }
                let said = format!(
                    "{}, {} mm of wood over {}",
                    place(member, cut),
                    say::mm(cover),
                    say::services(report, cut)
                );
                told.entry((from, said)).or_default().push(super::sheets::mark(ix, member));
            }
        }
    }
    let mut sides: Vec<(From, Vec<String>)> = Vec::new();
    for ((from, said), mut marks) in told {
        marks.sort_by_cached_key(|mark| say::natural(mark));
        let row = format!("{}: {said}", marks.join(", "));
        match sides.last_mut().filter(|(last, _)| *last == from) {
            Some((_, rows)) => rows.push(row),
            None => sides.push((from, vec![row])),
        }
    }
    if sides.is_empty() {
        return None;
    }
    let sides = sides.into_iter().map(|(from, mut rows)| {
        rows.sort_by_cached_key(|row| say::natural(row));
        Side { heading: from.heading(), rows }
    });
    let plan = (!strips.is_empty()).then(|| plan.inline_with(&strips));
    Some(Drawn { plan, sides: sides.collect() })
}

/// The wood between a cut and each side that boards may be nailed to.
fn covers(member: &Member, cut: &Cut) -> Vec<(From, f64)> {
    let frame = &member.frame;
    let deep = 0.5 * member.section.depth_mm();
    let (top, bottom) = (deep - cut.max_mm.z, cut.min_mm.z + deep);
    if frame.x.z.abs() > 0.5 {
        let [face, other] = [frame.z, -frame.z].map(say::side_word);
        return vec![(From::Wall(face), top), (From::Wall(other), bottom)];
    }
    if member.place == Place::Wall {
        let broad = 0.5 * member.section.breadth_mm();
        let [face, other] = [frame.y(), -frame.y()].map(say::side_word);
        let sides = [broad - cut.max_mm.y, cut.min_mm.y + broad];
        return vec![(From::Wall(face), sides[0]), (From::Wall(other), sides[1])];
    }
    vec![(From::Above, top), (From::Below, bottom)]
}

/// `412 to 462 mm from the bearing face at the south end`.
fn place(member: &Member, cut: &Cut) -> String {
    let span = cut.span.and_then(|s| member.spans.get(s as usize));
    let (face, from) = span.map_or((0.0, ""), |s| (s.from_mm, "bearing face at the "));
    format!(
        "{} to {} mm from the {from}{}",
        say::mm((cut.min_mm.x - face - BESIDE_MM).floor()),
        say::mm((cut.max_mm.x - face + BESIDE_MM).ceil()),
        say::end_word(&member.frame, false)
    )
}

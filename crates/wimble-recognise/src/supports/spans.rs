//! From the places that carry to bearings and spans.

use super::bearings::{Found, Touching};
use super::carriers::{Told, Who};
use crate::settings::RecogniseSettings;
use arcstr::literal;
use smallvec::SmallVec;
use std::sync::Arc;
use thin_vec::{ThinVec, thin_vec};
use wimble_model::{Basis, Bearing, End, MemberIx, Note, Span};

/// Bearings nearer than this to each other are one, mm.
const ONE_BEARING_MM: f64 = 25.0;
/// Beyond an outer bearing, a member that reaches further than this share of the next span is not
/// taken for an overhang without a word.
const LONG_OVERHANG: f64 = 0.5;

/// Bearings and spans of one member.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Supported {
    pub(crate) bearings: ThinVec<Bearing>,
    pub(crate) spans: ThinVec<Span>,
    pub(crate) without_doubtful: Option<ThinVec<Span>>,
    pub(crate) open_ends: ThinVec<End>,
    pub(crate) notes: ThinVec<Note>,
    /// Whether something carries it along its length.
    pub(crate) along: bool,
}

/// Bearings and spans from what touches a member of this length.
pub(crate) fn supported<'t>(
    length_mm: f64,
    steep: bool,
    touching: Touching,
    settings: &RecogniseSettings,
    told: impl Fn(Who) -> Option<&'t Told>,
) -> Supported {
    let mut result = Supported::default();
    let mut found = touching.found;
    found.sort_by(|a, b| {
        a.at[0].total_cmp(&b.at[0]).then(a.at[1].total_cmp(&b.at[1])).then(a.who.cmp(&b.who))
    });
    result.notes.extend(found.iter().filter_map(|f| f.note.clone()));
    let groups = groups(&found);
    result.bearings.reserve_exact(groups.len());
    for group in groups {
        if let Some(bearing) = merged(group, &told) {
            let long = bearing.to_mm - bearing.from_mm;
            if bearing.basis == Basis::Contact && long < settings.least_bearing_mm && !steep {
                result.notes.push(Note::from(format!(
                    "only {long:.0} mm on {}: too short to count as a bearing",
                    bearing.name
                )));
                continue;
            }
            result.bearings.push(bearing);
        }
    }
    settle_doubt(&mut result, steep);
    result.open_ends = open_ends(&result.bearings, length_mm);
    if settings.accept_member_ends {
        accept_ends(&mut result, length_mm);
    }
    result.along = !touching.along.is_empty();
    for (mut names, what) in
        [(touching.along, "carried along its length by"), (touching.within, "lies within")]
    {
        names.sort();
        names.dedup();
        if !names.is_empty() {
            result.notes.push(Note::from(format!("{what} {}", names.join(", "))));
        }
    }
    finish(&mut result, length_mm);
    result.notes.shrink_to_fit();
    result
}

/// Spans, and the notes that follow from them.
pub(crate) fn finish(result: &mut Supported, length_mm: f64) {
    result.bearings.shrink_to_fit();
    let all: SmallVec<[(u32, &Bearing); 4]> = (0u32..).zip(&result.bearings).collect();
    result.spans = spans(&all);
    let sure: SmallVec<[(u32, &Bearing); 4]> =
        all.iter().copied().filter(|(_, b)| !b.doubtful).collect();
    result.without_doubtful = (sure.len() < all.len()).then(|| spans(&sure));
    for bearing in result.bearings.iter().filter(|b| b.doubtful) {
        result.notes.push(Note::from(format!(
            "{} under the middle does not say whether it carries: judged both ways",
            bearing.name
        )));
    }
    let (Some(first), Some(last)) = (result.spans.first(), result.spans.last()) else { return };
    let long_start = first
        .from_bearing
        .and_then(|i| result.bearings.get(i as usize))
        .is_some_and(|b| b.from_mm > LONG_OVERHANG * first.length_mm());
    let long_finish = last
        .to_bearing
        .and_then(|i| result.bearings.get(i as usize))
        .is_some_and(|b| length_mm - b.to_mm > LONG_OVERHANG * last.length_mm());
    if long_start || long_finish {
        result.notes.push(Note::from(
            "reaches far beyond its outer bearing: a bearing may be missing there",
        ));
    }
}

/// Places, by where they begin, that are one bearing each.
fn groups(found: &[Found]) -> SmallVec<[&[Found]; 4]> {
    let mut groups = SmallVec::new();
    let mut reach = f64::NEG_INFINITY;
    let mut first = 0;
    for (at, one) in found.iter().enumerate() {
        if at > first && one.at[0] - reach >= ONE_BEARING_MM {
            groups.extend(found.get(first..at));
            first = at;
        }
        reach = reach.max(one.at[1]);
    }
    groups.extend(found.get(first..).filter(|group| !group.is_empty()));
    groups
}

/// Several places that are one bearing: named after the surest, then the longest of them.
fn merged<'t>(group: &[Found], told: &impl Fn(Who) -> Option<&'t Told>) -> Option<Bearing> {
    let long = |f: &Found| f.at[1] - f.at[0];
    let best =
        group.iter().min_by(|a, b| a.basis.cmp(&b.basis).then(long(b).total_cmp(&long(a))))?;
    let of_basis = |f: &&Found| f.basis != Basis::NearContact || best.basis == Basis::NearContact;
    let counted = group.iter().filter(of_basis);
    let (from_mm, to_mm) = counted
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), f| (a.min(f.at[0]), b.max(f.at[1])));
    let member = match best.who {
        Who::Member(ix) => Some(MemberIx(ix)),
        Who::Element(_) => None,
    };
    let told = told(best.who);
    Some(Bearing {
        from_mm,
        to_mm,
        member,
        element: told.map(|told| Arc::clone(&told.element)),
        name: told.map_or_else(|| best.called.as_str().into(), |told| told.called.clone()),
        basis: best.basis,
        doubtful: group.iter().all(|f| f.unsaid),
    })
}

/// A wall that does not say whether it carries counts under an end; under the middle it is
/// doubtful.
fn settle_doubt(result: &mut Supported, steep: bool) {
    let last = result.bearings.len().saturating_sub(1);
    for (i, bearing) in result.bearings.iter_mut().enumerate() {
        if i == 0 || i == last || steep {
            bearing.doubtful = false;
        }
    }
}

/// Ends that neither bear nor overhang.
fn open_ends(bearings: &[Bearing], length_mm: f64) -> ThinVec<End> {
    match bearings {
        [] => thin_vec![End::Start, End::Finish],
        [only] => {
            let start = f64::midpoint(only.from_mm, only.to_mm) > 0.5 * length_mm;
            thin_vec![if start { End::Start } else { End::Finish }]
        }
        _ => ThinVec::new(),
    }
}

/// The user takes ends for bearings.
fn accept_ends(result: &mut Supported, length_mm: f64) {
    for end in std::mem::take(&mut result.open_ends) {
        let at = if end == End::Start { 0.0 } else { length_mm };
        let bearing = Bearing {
            from_mm: at,
            to_mm: at,
            member: None,
            element: None,
            name: literal!("end of the member"),
            basis: Basis::MemberEnds,
            doubtful: false,
        };
        match end {
            End::Start => result.bearings.insert(0, bearing),
            End::Finish => result.bearings.push(bearing),
        }
    }
}

/// Clear spans between neighbouring bearings.
fn spans(bearings: &[(u32, &Bearing)]) -> ThinVec<Span> {
    let mut spans: ThinVec<Span> = ThinVec::with_capacity(bearings.len().saturating_sub(1));
    spans.extend(bearings.windows(2).filter_map(|pair| {
        let ((i, a), (j, b)) = (pair.first()?, pair.get(1)?);
        Some(Span {
            from_mm: a.to_mm,
            to_mm: b.from_mm,
            basis: a.basis.max(b.basis),
            from_bearing: Some(*i),
            to_bearing: Some(*j),
        })
    }));
    spans
}

/// Bearings and spans as the user states them.
pub(crate) fn stated(bearings_mm: &[[f64; 2]], spans_mm: &[[f64; 2]]) -> Supported {
    let mut result = Supported::default();
    let bearing = |at: [f64; 2]| Bearing {
        from_mm: at[0],
        to_mm: at[1],
        member: None,
        element: None,
        name: literal!("stated in the settings"),
        basis: Basis::Stated,
        doubtful: false,
    };
    if !bearings_mm.is_empty() {
        result.bearings = bearings_mm.iter().copied().map(bearing).collect();
        result.bearings.sort_by(|a, b| a.from_mm.total_cmp(&b.from_mm));
        let all: Vec<(u32, &Bearing)> = (0u32..).zip(&result.bearings).collect();
        result.spans = spans(&all);
        return result;
    }
    let mut stated = spans_mm.to_vec();
    stated.sort_by(|a, b| a[0].total_cmp(&b[0]));
    for [from_mm, to_mm] in stated {
        let start = u32::try_from(result.bearings.len()).unwrap_or(u32::MAX);
        // A span that begins where the one before ended shares its bearing.
        let shared = result.spans.last().is_some_and(|s| from_mm - s.to_mm < ONE_BEARING_MM);
        let from_bearing = if shared { start.saturating_sub(1) } else { start };
        if !shared {
            result.bearings.push(bearing([from_mm; 2]));
        } else if let Some(last) = result.bearings.last_mut() {
            last.to_mm = from_mm;
        }
        result.bearings.push(bearing([to_mm; 2]));
        result.spans.push(Span {
            from_mm,
            to_mm,
            basis: Basis::Stated,
            from_bearing: Some(from_bearing),
            to_bearing: Some(from_bearing + 1),
        });
    }
    result
}

//! Findings in the words of the trade: what is so, with one figure and its limit; what next.

use crate::check::{About, Missing};
use crate::expression::tidy;
use crate::judge::{Broken, Cause};
use crate::pack::{
    Along, Check, DistanceBound, EdgeOf, Fact, KeepOut, Otherwise, Rule, SizeOf, load_word,
};
use crate::subject::{Mark, Neighbours, View};
use std::borrow::Cow;
use std::fmt;
use wimble_model::{Bound, CutKind, End, Member, MemberKind, ObligationKind, Section, Unit};

/// The words of a finding.
pub(crate) fn message(
    view: &View<'_>,
    mark: &Mark,
    marks: Neighbours<'_>,
    broken: &Broken<'_>,
) -> Box<str> {
    const STATE_IT: &str = "State it in the settings, or correct the model.";
    let (what, next): (Cow<'_, str>, &str) = match &broken.cause {
        Cause::Remark { words, .. } => return words.as_str().into(),
        Cause::Part { rule, .. } => {
            let what = match &rule.says {
                Some(says) => says.into(),
                None => broken_part(view, mark, marks, broken).into(),
            };
            (what, rule.next.as_deref().unwrap_or_else(|| next_step(rule, broken.otherwise)))
        }
        Cause::Missing { missing, rule, .. } => {
            let fact = fact_words(*missing, view);
            (format!("{fact} is not known{}.", needed_for(rule)).into(), STATE_IT)
        }
        Cause::WhichPack { missing } => (
            format!(
                "{} is not known, so it cannot be said which rules apply to {}.",
                fact_words(*missing, view),
                member_name(view.member)
            )
            .into(),
            STATE_IT,
        ),
        Cause::NoPack => (
            no_pack(view.member, mark).into(),
            "Ask the engineer or the maker, or name a pack that has figures for it.",
        ),
    };
    // As long as it has to be: there are many of them.
    if next.is_empty() { (&*what).into() } else { [&*what, next].join(" ").into() }
}

fn needed_for(rule: &Rule) -> String {
    match &rule.check {
        Check::Zone { .. } | Check::SupportDistance { .. } | Check::KeepOut(_) => {
            ": where the cut may lie depends on it".to_owned()
        }
        _ => format!(": `{}` depends on it", rule.said_as()),
    }
}

fn no_pack(member: &Member, mark: &Mark) -> String {
    format!(
        "No pack in force has figures for a {} in {}.",
        cut_word(mark.kind),
        member_words(member)
    )
}

/// The member by its kind and section.
fn member_words(member: &Member) -> String {
    let section = match member.section {
        Section::Rectangle { breadth_mm, depth_mm } => {
            format!("{} x {}", tidy(breadth_mm.round()), tidy(depth_mm.round()))
        }
        other => format!("{} deep {}", tidy(other.depth_mm().round()), other.word()),
    };
    let role = member.role.map(|role| format!(" ({})", role.word())).unwrap_or_default();
    format!("this {section} {}{role}", kind_word(member.kind))
}

fn member_name(member: &Member) -> String {
    member.element.name.as_deref().unwrap_or("this member").to_owned()
}

const fn kind_word(kind: MemberKind) -> &'static str {
    match kind {
        MemberKind::TrussPart => "truss part",
        MemberKind::Unknown => "member of unknown kind",
        other => other.word(),
    }
}

/// A kind of cut in words.
pub(crate) const fn cut_word(kind: CutKind) -> &'static str {
    match kind {
        CutKind::Joinery => "joint",
        CutKind::BetweenWebs => "service between the webs",
        CutKind::EndCut => "cut at the end",
        CutKind::FlangeCut => "cut in a flange",
        CutKind::WebHole => "hole in the web",
        CutKind::ChordCut => "cut in a chord",
        CutKind::WebCut => "cut in a web",
        CutKind::Severed => "cut through the whole section",
        CutKind::Lengthwise => "cut along the member",
        CutKind::Bore => "bore through the depth",
        CutKind::SideCut => "cut in one side",
        CutKind::Enclosed => "cavity inside",
        CutKind::TopNotch => "top notch",
        CutKind::BottomNotch => "bottom notch",
        CutKind::Hole => "hole",
    }
}

/// A fact in words, with where it is missing.
pub(crate) fn fact_words(missing: Missing, view: &View<'_>) -> String {
    match missing {
        Missing::Span => {
            let ends: Vec<String> = view
                .member
                .open_ends
                .iter()
                .map(|&end| format!("the {}", end_word(view.member, end)))
                .collect();
            if ends.is_empty() {
                "The span".to_owned()
            } else {
                format!("The bearing at {}", ends.join(" and "))
            }
        }
        Missing::NearContact => {
            "The span (the joist ends just above a bearing wall: a plate may be missing)".to_owned()
        }
        Missing::Flange => "The depth of the flange".to_owned(),
        Missing::Product => "The product (which joist of the maker's table it is)".to_owned(),
        Missing::Fact(fact) => match fact {
            Fact::Kind => "What the member does (joist, stud, beam …)".to_owned(),
            Fact::Section => "The section".to_owned(),
            Fact::LoadBearing => "Whether the wall carries load".to_owned(),
            Fact::WebsKnown => "The web layout".to_owned(),
            other => format!("The {}", other.word().replace('-', " ")),
        },
    }
}

/// An end by where it points (`east end`); by `top` and `bottom` for upright members.
pub(crate) fn end_word(member: &Member, end: End) -> &'static str {
    let out = match end {
        End::Finish => member.frame.x,
        End::Start => -member.frame.x,
    };
    if out.z.abs() > 0.87 {
        if out.z > 0.0 { "top end" } else { "bottom end" }
    } else if out.x.abs() >= out.y.abs() {
        if out.x > 0.0 { "east end" } else { "west end" }
    } else if out.y > 0.0 {
        "north end"
    } else {
        "south end"
    }
}

/// A bearing as a person calls it.
fn bearing_name(member: &Member, index: Option<u32>, end: End) -> Cow<'_, str> {
    index
        .and_then(|i| member.bearings.get(i as usize))
        .map(|b| b.name.trim())
        .filter(|name| !name.is_empty())
        .map_or_else(|| format!("the bearing at its {}", end_word(member, end)).into(), Cow::from)
}

/// `1076 to 1124 mm from the face of wall W-S`.
struct PlaceWords<'v> {
    view: &'v View<'v>,
    mark: &'v Mark,
}

impl fmt::Display for PlaceWords<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { view, mark } = self;
        let span = view.span_at(mark.mid_x()).and_then(|at| view.spans.get(at));
        let Some(span) = span else {
            let end = end_word(view.member, End::Start);
            return write!(f, "{} to {} mm from its {end}", mm(mark.x0), mm(mark.x1));
        };
        let (left, right) = (mark.x0 - span.from_mm, span.to_mm - mark.x1);
        let (near, far, index, end) = if left <= right {
            (left, mark.x1 - span.from_mm, span.from_bearing, End::Start)
        } else {
            (right, span.to_mm - mark.x0, span.to_bearing, End::Finish)
        };
        let bearing = bearing_name(view.member, index, end);
        write!(f, "{} to {} mm from the face of {bearing}", mm(near), mm(far))
    }
}

/// Millimetres to a tenth.
pub(crate) fn mm(value: f64) -> Tenths {
    Tenths((value * 10.0).round())
}

/// A limit to a tenth, on the safe side.
pub(crate) fn limit(value: f64, bound: Bound) -> Tenths {
    let tenths = value * 10.0;
    Tenths(match bound {
        Bound::AtLeast => (tenths - 1e-6).ceil(),
        _ => (tenths + 1e-6).floor(),
    })
}

/// A whole number of tenths, written as [`tidy`] writes their value; only quicker.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tenths(f64);

impl fmt::Display for Tenths {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const BEHIND_THE_POINT: [&str; 10] =
            ["", ".1", ".2", ".3", ".4", ".5", ".6", ".7", ".8", ".9"];
        // Up to so many a thousandth is told apart, and the number is whole.
        const MOST: f64 = 1e12;
        if !(-MOST..=MOST).contains(&self.0) {
            return f.write_str(&tidy(self.0 / 10.0));
        }
        let tenths = self.0 as i64;
        if tenths < 0 {
            f.write_str("-")?;
        }
        let (whole, rest) = (tenths.unsigned_abs() / 10, tenths.unsigned_abs() % 10);
        f.write_str(itoa::Buffer::new().format(whole))?;
        f.write_str(BEHIND_THE_POINT[rest as usize])
    }
}

fn broken_part(view: &View<'_>, mark: &Mark, marks: Neighbours<'_>, broken: &Broken<'_>) -> String {
    let Cause::Part { rule, part, .. } = &broken.cause else { return String::new() };
    let cut = cut_word(mark.kind);
    let place = PlaceWords { view, mark };
    let (value, held) = match part.figure {
        Some(figure) => (figure.value, limit(figure.limit, figure.bound)),
        None => (0.0, Tenths(0.0)),
    };
    let other = match part.about {
        About::Cut(other) => marks.of_cut(other).map(|m| cut_word(m.kind)),
        _ => None,
    };
    if part.about == About::BeyondTable {
        return format!(
            "The {cut} is beyond the maker's table: {} mm, and the table ends at {held} mm.",
            mm(value)
        );
    }
    match &rule.check {
        Check::Zone { .. } => {
            let Some((from, to)) = part.allowed.iter().next() else {
                return format!("The {cut} lies {place}; there is no place for it.");
            };
            let span = view.span_at(mark.mid_x()).and_then(|at| view.spans.get(at));
            let (start, where_from) = span.map_or((0.0, "end"), |span| (span.from_mm, "of them"));
            format!(
                "The {cut} lies {place}; it may lie {} to {} mm from either {where_from}.",
                limit(from - start, Bound::AtLeast),
                limit(to - start, Bound::AtMost)
            )
        }
        Check::KeepOut(KeepOut::Stretch { .. }) => {
            let nearest = part.allowed.nearest(part.lo, part.hi);
            let text = nearest.map_or_else(String::new, |_| {
                format!(
                    ", in a stretch that is kept whole (limit {held}{})",
                    unit_word(part.figure.map(|f| f.unit))
                )
            });
            format!("The {cut} lies {place}{text}.")
        }
        Check::KeepOut(KeepOut::Around { .. }) => match part.about {
            About::Bearing(n) => {
                let bearing = view.member.bearings.get(n);
                let name = bearing
                    .map(|b| b.name.trim())
                    .filter(|n| !n.is_empty())
                    .unwrap_or("the bearing");
                if value < 0.0 {
                    format!("The {cut} lies over {name}: the wood over a bearing stays whole.")
                } else {
                    format!(
                        "The {cut} is {} mm from {name}; at least {held} mm stay whole there.",
                        mm(value)
                    )
                }
            }
            About::Load(n) => {
                let name = view.member.loads.get(n).map_or_else(
                    || "a load".to_owned(),
                    |load| format!("{} ({})", load.name, load_word(load.kind).replace('-', " ")),
                );
                format!(
                    "The {cut} is {} mm from {name}, which stands on the deck; closer than {held} mm an engineer decides.",
                    mm(value.max(0.0))
                )
            }
            _ => format!(
                "The {cut} is {} mm from the end of the member; at least {held} mm stay whole there.",
                mm(value)
            ),
        },
        Check::SupportDistance { bound, .. } => {
            let word = if *bound == DistanceBound::AtMost { "at most" } else { "at least" };
            let unit = unit_word(part.figure.map(|f| f.unit));
            format!("The {cut} lies {place}; {word} {held}{unit} from a support is wanted.")
        }
        Check::Size { of, .. } => {
            let what = match of {
                SizeOf::Height if mark.shared > 1 => "takes a hole of",
                SizeOf::Height => "is this high:",
                SizeOf::Width => "is this long:",
                SizeOf::NotchDepth => "is this deep:",
                SizeOf::Bit => "needs a bit of",
                SizeOf::Across => "is this wide across the member:",
                SizeOf::Larger => "is this large:",
                SizeOf::Proud => "",
            };
            if *of == SizeOf::Proud {
                let side = if mark.offset() >= 0.0 { "deck" } else { "ceiling" };
                return format!(
                    "The service stands {} mm proud of the joist: the {side} is there.",
                    mm(value)
                );
            }
            format!("The {cut} {what} {} mm; the most is {held} mm.", fine(value, part.figure))
        }
        Check::Level { .. } => {
            let side = if mark.offset() >= 0.0 { "above" } else { "below" };
            format!(
                "The {cut} is {} mm {side} mid-depth; at most {held} mm.",
                fine(value, part.figure)
            )
        }
        Check::Edge { of, .. } => {
            let edge = match of {
                EdgeOf::Top => "the top edge",
                EdgeOf::Bottom => "the bottom edge",
                EdgeOf::Nearest => "the nearer edge",
                EdgeOf::Flange => "the nearer flange",
                EdgeOf::Side => "the nearer side",
            };
            format!(
                "The {cut} leaves {} mm of wood to {edge}; at least {held} mm.",
                fine(value, part.figure)
            )
        }
        Check::Left { along, .. } => {
            let what = match along {
                Along::Depth => "depth",
                Along::Breadth => "width",
                Along::Web => "clear web",
            };
            format!(
                "The {cut} leaves {} mm of the {what}; at least {held} mm.",
                fine(value, part.figure)
            )
        }
        Check::Apart { .. } => format!(
            "The {cut} and the {} beside it are {} mm apart; at least {held} mm.",
            other.unwrap_or("cut"),
            fine(value, part.figure)
        ),
        Check::BothEdges { .. } => match part.figure {
            Some(_) => format!(
                "The {cut} and the {} are {} mm apart along the joist; at least {held} mm, since both edges are never cut at one place.",
                other.unwrap_or("notch"),
                mm(value.max(0.0))
            ),
            None => format!(
                "The {cut} and the {} lie in the same half of the span.",
                other.unwrap_or("notch")
            ),
        },
        Check::Count { .. } => {
            format!("There are {} such cuts in this span; at most {held}.", tidy(value))
        }
        Check::Forbid { .. } => format!("A {cut} is not allowed here."),
        Check::Member(condition) => {
            let fact = condition.fact.word().replace('-', " ");
            match part.figure {
                Some(figure) => {
                    let word = if figure.bound == Bound::AtLeast { "from" } else { "up to" };
                    let unit = if figure.unit == Unit::Mm { " mm" } else { "" };
                    format!(
                        "The {fact} is {}{unit}; the rules hold {word} {held}{unit}.",
                        mm(figure.value)
                    )
                }
                None => format!("The rules do not hold for this {fact}."),
            }
        }
        Check::Oblige { .. } => String::new(),
    }
}

/// Enough decimals to show that a figure is over its limit.
fn fine(value: f64, figure: Option<crate::check::Figure>) -> String {
    let close = figure.is_some_and(|f| (value - f.limit).abs() < 0.1);
    if close { tidy((value * 100.0).round() / 100.0) } else { mm(value).to_string() }
}

const fn unit_word(unit: Option<Unit>) -> &'static str {
    match unit {
        Some(Unit::Span) => " of the span",
        Some(Unit::Depth) => " of the depth",
        Some(Unit::Degree) => " degrees",
        Some(Unit::Count) | None => "",
        Some(Unit::Mm) => " mm",
    }
}

fn next_step(rule: &Rule, otherwise: Otherwise) -> &'static str {
    match otherwise {
        Otherwise::Note => "",
        Otherwise::Unknown => "State the fact in the settings, or correct the model.",
        Otherwise::Refer => "Ask the engineer, or the maker of the member.",
        Otherwise::Fail => match &rule.check {
            Check::Zone { .. } | Check::SupportDistance { .. } | Check::KeepOut(_) => {
                "Move the run there, or ask the engineer."
            }
            Check::Size { of: SizeOf::Proud, .. } => "Sink the run into the joist.",
            Check::Size { .. } | Check::Left { .. } => {
                "Use a smaller service or another way, or ask the engineer."
            }
            Check::Level { .. } | Check::Edge { .. } => "Raise or lower the run.",
            Check::Apart { .. } | Check::BothEdges { .. } => "Move the runs apart.",
            Check::Count { .. } => "Send a run another way.",
            _ => "Find another way, or ask the engineer.",
        },
    }
}

/// An obligation in words.
pub(crate) fn obligation(
    kind: ObligationKind,
    member: MemberKind,
    has_mm: f64,
    needs_mm: f64,
) -> String {
    let what = match kind {
        ObligationKind::NailPlate => "Steel plate over the service, against nails and screws",
        ObligationKind::PipeClipPlate => "Clip plate over the notched pipe",
        ObligationKind::TieStrap => "Tie strap across the cut plate",
        ObligationKind::DoubledStud => "Second stud beside this one, full height",
        ObligationKind::FireStop => "Fire-stop (product and seal are not checked)",
        ObligationKind::Sleeve => "Sleeve round the service",
        ObligationKind::Wrap => "Wrap round the pipe where it passes",
    };
    format!(
        "{what}: {} mm of wood beside the cut in this {}, less than {} mm.",
        mm(has_mm.max(0.0)),
        kind_word(member),
        limit(needs_mm, Bound::AtLeast)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn tenths_are_written_as_any_figure_is(
            value in prop_oneof![-20_000.0..20_000.0_f64, -1.0..1.0_f64, any::<f64>()],
        ) {
            prop_assert_eq!(mm(value).to_string(), tidy((value * 10.0).round() / 10.0));
        }
    }
}

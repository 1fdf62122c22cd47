//! A rule's limit worked with the numbers of the pack's example member.

use crate::check::{Answer, Axis, Context, Known, Room, answer};
use crate::expression::tidy;
use crate::pack::{Check, Fact, Pack, Rule, Test, With};
use crate::subject::{Mark, Subject, View};
use crate::windows::Probe;
use crate::words::{cut_word, limit, mm};
use crate::{by_hand::member_by_hand, words};
use wimble_model::{Bound, CutKind, Member, MemberKind, Section, Unit};

/// The member that a pack's examples are worked for.
pub(crate) fn member(pack: &Pack) -> Member {
    let word = |fact: Fact| {
        pack.applies.iter().find(|c| c.fact == fact).and_then(|c| match &c.test {
            Test::Words { is, .. } => is.first().copied(),
            _ => None,
        })
    };
    let kind = match word(Fact::Kind) {
        Some("stud") => MemberKind::Stud,
        Some("beam") => MemberKind::Beam,
        Some("rafter") => MemberKind::Rafter,
        Some("plate") => MemberKind::Plate,
        Some("blocking") => MemberKind::Blocking,
        Some("truss-part") => MemberKind::TrussPart,
        _ => MemberKind::Joist,
    };
    let e = &pack.example;
    let (breadth_mm, depth_mm) = (e.breadth_mm, e.depth_mm);
    let section = match word(Fact::Section) {
        Some("i-joist") => Section::IJoist {
            breadth_mm,
            depth_mm,
            flange_mm: e.flange_mm.unwrap_or(45.0),
            web_mm: 10.0,
        },
        Some("open-web") => Section::OpenWeb {
            breadth_mm,
            depth_mm,
            chord_mm: e.flange_mm.unwrap_or(47.0),
            webs_known: true,
        },
        _ => Section::Rectangle { breadth_mm, depth_mm },
    };
    let mut member = member_by_hand(kind, section, e.span_mm);
    member.material = e.product.as_deref().map(Into::into);
    member
}

/// The example member in words.
pub(super) fn member_words(pack: &Pack) -> String {
    let member = member(pack);
    let size = format!(
        "{} x {} {}",
        tidy(member.section.breadth_mm()),
        tidy(member.section.depth_mm()),
        if member.kind == MemberKind::Stud { "stud" } else { member.kind.word() }
    );
    let product = pack.example.product.as_ref().map(|p| format!(" ({p})")).unwrap_or_default();
    let length = if member.kind == MemberKind::Stud { "high" } else { "clear span" };
    format!("{size}{product}, {} mm {length}", tidy(pack.example.span_mm))
}

/// A typical cut of a kind: 22 mm, or 20 mm deep.
fn typical(kind: CutKind) -> Probe {
    match kind {
        CutKind::TopNotch | CutKind::BottomNotch => Probe::notch(kind, 20.0, 20.0),
        other => Probe::hole(22.0, 0.0).as_kind(other),
    }
}

/// The limit of a rule for the example member.
pub(super) fn worked(pack: &Pack, rule: &Rule) -> String {
    let member = member(pack);
    let view = View::of(&member);
    let Some(kind) = rule.cut.iter().last() else { return String::new() };
    let probe = typical(kind);
    let face = member.spans.first().map_or(0.0, |s| s.from_mm);
    let x = face + 0.3 * pack.example.span_mm;
    let other_kind = match &rule.check {
        Check::Apart { with: With::Kinds(kinds), .. } => kinds.iter().last().unwrap_or(kind),
        Check::BothEdges { .. } if kind == CutKind::TopNotch => CutKind::BottomNotch,
        Check::BothEdges { .. } => CutKind::TopNotch,
        _ => kind,
    };
    let mark = Mark { cut: 0, ..probe.at(x, &member) };
    let beside = Mark { cut: 1, ..typical(other_kind).at(x + 50.0, &member) };
    let neighbours = [mark, beside];
    let pairs = matches!(rule.check, Check::Apart { .. } | Check::BothEdges { .. });
    let around: &[Mark] = if pairs { &neighbours } else { &neighbours[..1] };
    let subject = Subject::new(&view, mark, around);
    let known = Known { domestic: true, assume_bearing: true };
    let context = Context { pack, rule, known, places: false };
    let cut = cut_word(kind);
    if let Check::Count { at_most, .. } = &rule.check {
        return format!("{at_most} in its span");
    }
    match answer(&context, &subject) {
        Answer::Silent => format!("a {cut}: silent"),
        Answer::Missing(missing) => {
            format!("{} has to be known", words::fact_words(missing, &view))
        }
        Answer::Obliged { has_mm, needs_mm, .. } => format!(
            "a 22 mm {cut} has {} mm, less than {} mm",
            mm(has_mm),
            limit(needs_mm, Bound::AtLeast)
        ),
        Answer::Parts(parts) => {
            let Some(part) = parts.first() else {
                return format!("a {cut} at the third of the span: nothing is near, so it holds");
            };
            if let (Some(figure), true) = (part.figure, pairs) {
                return format!(
                    "beside a {} of the same size at least {} mm",
                    cut_word(other_kind),
                    limit(figure.limit, figure.bound)
                );
            }
            match (part.axis, part.figure) {
                (Axis::X, _) => {
                    let bands: Vec<String> = part
                        .allowed
                        .iter()
                        .map(|(from, to)| {
                            format!(
                                "{} to {}",
                                bound(from - face, Bound::AtLeast),
                                bound(to - face, Bound::AtMost)
                            )
                        })
                        .collect();
                    let whence =
                        if matches!(rule.check, Check::Zone { datum: crate::pack::Datum::End, .. })
                        {
                            "end"
                        } else {
                            "face"
                        };
                    format!("{} mm from the left {whence}", bands.join(" or "))
                }
                (_, Some(figure)) => format!(
                    "{} {}{}",
                    if figure.bound == Bound::AtLeast { "at least" } else { "at most" },
                    limit(figure.limit, figure.bound),
                    if figure.unit == Unit::Mm { " mm" } else { "" }
                ),
                (_, None) if part.room == Room::Never => format!("a {cut} does not hold"),
                (_, None) => "holds".to_owned(),
            }
        }
    }
}

/// An end of a band; the axis goes on for ever beyond the member.
fn bound(value: f64, side: Bound) -> String {
    if value.is_finite() { limit(value, side).to_string() } else { "…".to_owned() }
}

//! A check in words, without numbers of any one member.

use crate::expression::{Length, tidy};
use crate::pack::{
    Along, Around, Check, Datum, DistanceBound, EdgeOf, KeepOut, KindSet, ObligeOf, Pack, Part,
    Range, Rule, SizeOf, Spacing, Test, Value, With,
};
use crate::words::cut_word;

/// What a rule asks, as one sentence without its full stop.
pub(super) fn what(pack: &Pack, rule: &Rule) -> String {
    let cuts = kinds(rule.cut);
    match &rule.check {
        Check::Zone { from, to, datum, part } => format!(
            "{} of {cuts} lies between {from} and {to}, measured from {} of one of its two supports",
            if *part == Part::Whole { "the whole" } else { "the centre" },
            match datum {
                Datum::Face => "the face",
                Datum::CentreOfBearing => "the centre of the bearing",
                Datum::End => "the end of the member at",
            }
        ),
        Check::KeepOut(KeepOut::Stretch { from, to, .. }) => {
            format!("no part of {cuts} lies between {from} and {to} from either support")
        }
        Check::KeepOut(KeepOut::Around { what, within }) => {
            let thing = match what {
                Around::Bearings => "a bearing",
                Around::Hangers => "the face of a hanger",
                Around::Ends => "an end of the member",
                Around::PartitionsAcross => "a partition that stands across the joist",
                Around::Vessels => "a cylinder, tank, boiler or stove",
            };
            if *within == Length::Mm(0.0) {
                format!("no part of {cuts} lies over {thing}")
            } else {
                format!("no part of {cuts} lies within {within} of {thing}")
            }
        }
        Check::SupportDistance { bound, value, part } => format!(
            "{} of {cuts} lies {} {} from {}",
            if *part == Part::Whole { "every part" } else { "the centre" },
            if *bound == DistanceBound::AtLeast { "at least" } else { "at most" },
            figure(pack, value),
            if *bound == DistanceBound::AtLeast { "both supports" } else { "one of the supports" },
        ),
        Check::Size { of, at_most } => {
            let size = match of {
                SizeOf::Height => "the height",
                SizeOf::Width => "the length along the member",
                SizeOf::NotchDepth => "the depth",
                SizeOf::Bit => "the bit",
                SizeOf::Across => "the width across the member",
                SizeOf::Larger => "the larger side",
                SizeOf::Proud => "what stands out of the depth",
            };
            format!("{size} of {cuts} is at most {}", figure(pack, at_most))
        }
        Check::Level { at_most, refer_to } => {
            let wider = refer_to.as_ref().map_or_else(String::new, |wide| {
                format!(
                    "; while the whole of it lies within {wide} of mid-depth an engineer decides"
                )
            });
            format!("the centre of {cuts} lies within {at_most} of mid-depth{wider}")
        }
        Check::Edge { of, at_least } => {
            let edge = match of {
                EdgeOf::Top => "the top edge",
                EdgeOf::Bottom => "the bottom edge",
                EdgeOf::Nearest => "either edge",
                EdgeOf::Flange => "either flange",
                EdgeOf::Side => "either side",
            };
            format!("{cuts} leaves at least {at_least} of wood to {edge}")
        }
        Check::Left { along, at_least } => {
            let whole = match along {
                Along::Depth => "depth",
                Along::Breadth => "width",
                Along::Web => "clear web",
            };
            format!("at least {at_least} of the {whole} remains beside {cuts}")
        }
        Check::Apart { with, measure, at_least, times_larger } => {
            let other = match with {
                With::Same => "another of the same kind".to_owned(),
                With::Kinds(with) => kinds(*with),
            };
            let how = match measure {
                Spacing::Centres => "centre to centre",
                Spacing::GapX => "edge to edge along the member",
                Spacing::Clear => "clear",
            };
            let mut limit: Vec<String> = at_least.iter().map(ToString::to_string).collect();
            if *times_larger > 0.0 {
                limit.push(format!("{} times the larger diameter", tidy(*times_larger)));
            }
            format!("{cuts} and {other} stand at least {} apart, {how}", limit.join(" plus "))
        }
        Check::BothEdges { gap, same_half } => {
            let mut said: Vec<String> = Vec::new();
            if let Some(gap) = gap {
                said.push(format!(
                    "a top and a bottom notch stand at least {gap} apart along the member"
                ));
            }
            if same_half.is_some() {
                said.push(
                    "further apart in the same half of the span an engineer decides".to_owned(),
                );
            }
            said.join("; ")
        }
        Check::Count { kinds: counted, ignore_under, at_most } => {
            let small = if *ignore_under == Length::Mm(0.0) {
                String::new()
            } else {
                format!(", those under {ignore_under} not counted")
            };
            format!("there are at most {at_most} of {} in a span{small}", kinds(*counted))
        }
        Check::Forbid { kinds: never } => format!("{} is not made", kinds(never.and(rule.cut))),
        Check::Member(condition) => {
            let fact = match condition.fact.word() {
                "spans" => "number of spans".to_owned(),
                "load" => "load on the deck".to_owned(),
                "span-to-depth" => "span divided by the depth".to_owned(),
                word => word.replace('-', " "),
            };
            match &condition.test {
                Test::Words { is, not } if is.is_empty() => {
                    format!("the {fact} is not {}", not.join(", "))
                }
                Test::Words { is, .. } => format!("the {fact} is {}", is.join(" or ")),
                Test::YesNo(yes) => format!("{fact}: {}", if *yes { "yes" } else { "no" }),
                Test::Lengths(lengths) => format!("the {fact} is{}", range(lengths)),
                Test::Figures(figures) => format!("the {fact} is{}", range(figures)),
            }
        }
        Check::Oblige { of, at_least, obligation } => {
            let what = match of {
                ObligeOf::Cover => "wood between the cut and the nearer of top and bottom edge",
                ObligeOf::SideCover => "wood between the cut and the nearer side",
                ObligeOf::LeftDepth => "depth left beside the cut",
                ObligeOf::LeftBreadth => "width left beside the cut",
            };
            format!(
                "with less than {at_least} of {what}, {cuts} needs {}",
                obligation_word(*obligation)
            )
        }
    }
}

fn obligation_word(kind: wimble_model::ObligationKind) -> &'static str {
    use wimble_model::ObligationKind as K;
    match kind {
        K::NailPlate => "a steel plate against nails and screws",
        K::PipeClipPlate => "a clip plate over the pipe",
        K::TieStrap => "a tie strap",
        K::DoubledStud => "a second stud",
        K::FireStop => "a fire-stop",
        K::Sleeve => "a sleeve",
        K::Wrap => "a wrap",
    }
}

/// Bounds in words.
pub(super) fn range<T: std::fmt::Display>(range: &Range<T>) -> String {
    if let (Some(least), Some(most)) = (&range.at_least, &range.at_most) {
        let (least, most) = (least.to_string(), most.to_string());
        return if least == most { format!(" {least}") } else { format!(" {least} to {most}") };
    }
    let mut said = String::new();
    for (word, value) in [
        ("at least", &range.at_least),
        ("at most", &range.at_most),
        ("above", &range.above),
        ("below", &range.below),
    ] {
        if let Some(value) = value {
            said.push_str(&format!(" {word} {value}"));
        }
    }
    said
}

fn figure(pack: &Pack, value: &Value) -> String {
    match value {
        Value::Length(length) => length.to_string(),
        Value::Table(at) => format!(
            "what the table `{}` says for its size",
            pack.tables.get(*at).map_or("?", |table| table.key.as_str())
        ),
    }
}

/// Kinds of cut in words.
pub(super) fn kinds(kinds: KindSet) -> String {
    if kinds == KindSet::CUTS {
        return "any cut".to_owned();
    }
    let words: Vec<&str> = kinds.iter().map(cut_word).collect();
    match words.as_slice() {
        [one] => format!("a {one}"),
        [most @ .., last] if words.len() < 7 => format!("a {} or {last}", most.join(", ")),
        _ => "any cut".to_owned(),
    }
}

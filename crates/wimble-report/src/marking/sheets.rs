//! What a storey's sheet says, in the order in which one walks.

use super::{Datum, MarkedCut, MarkedMember, Marking, nails};
use crate::drawing::Plan;
use crate::rows_by::RowsBy;
use crate::{Report, say};
use glam::DVec3;
use std::collections::BTreeMap;
use wimble_model::{
    Basis, CutKind, End, Member, MemberIx, MemberKind, ObligationKind, TimberMake, Verdict,
};

/// A storey's sheet.
pub(super) struct Storey {
    pub(super) name: String,
    pub(super) plan: String,
    pub(super) joists: Vec<Joist>,
    pub(super) refused: Vec<Ask>,
    pub(super) assumed: Vec<Ask>,
    pub(super) bits: Vec<(String, usize)>,
    pub(super) besides: Vec<Besides>,
    pub(super) nails: Option<nails::Drawn>,
}

/// A member that may be cut.
pub(super) struct Joist {
    pub(super) mark: String,
    pub(super) size: String,
    pub(super) datum: String,
    pub(super) check: String,
    /// What its two edges are called: a stud has faces of the wall, not a top.
    pub(super) edges: [&'static str; 2],
    pub(super) rows: Vec<Row>,
}

/// A cut to make.
pub(super) struct Row {
    pub(super) number: usize,
    pub(super) what: String,
    pub(super) from_datum: String,
    pub(super) from_check: String,
    pub(super) top: String,
    pub(super) bottom: String,
    pub(super) bit: String,
    pub(super) service: String,
    pub(super) spare: String,
    pub(super) stops: String,
    pub(super) besides: String,
    pub(super) fall: String,
}

/// Something to ask first.
pub(super) struct Ask {
    pub(super) number: usize,
    pub(super) mark: String,
    pub(super) why: String,
}

/// Things to fit.
pub(super) struct Besides {
    pub(super) what: String,
    pub(super) marks: Vec<String>,
}

/// A member as it is called on a sheet: its mark, never a GlobalId.
pub(super) fn mark(ix: MemberIx, member: &Member) -> String {
    let named = member.element.name.as_deref().is_some_and(|name| !say::plain(name).is_empty());
    if named {
        say::member_name(member)
    } else {
        format!("{} without a mark, no. {}", member.kind.word(), ix.0.saturating_add(1))
    }
}

/// The datum in words: `bare face of wall W-SP, before lining`.
pub(super) fn datum(member: &Member, datum: Datum) -> String {
    let bearing = datum.bearing.and_then(|b| member.bearings.get(b as usize));
    match bearing.map(|b| (say::plain(&b.name), b.basis)) {
        Some((name, Basis::Hanger)) if !name.is_empty() => format!("face of {name}, at the hanger"),
        Some((name, Basis::EndFace)) if !name.is_empty() => format!("face of {name}"),
        Some((name, _)) if !name.is_empty() => format!("bare face of {name}, before lining"),
        Some(_) => format!("bare face of the bearing at the {}", end_word(member, datum)),
        None => format!("{} of the timber", end_word(member, datum)),
    }
}

fn end_word(member: &Member, datum: Datum) -> &'static str {
    say::end_word(&member.frame, datum.end == End::Finish)
}

/// The sheets of every storey with cuts, lowest first.
pub(super) fn of(report: &Report, marking: &Marking) -> Vec<Storey> {
    let rows = RowsBy::of(report);
    let mut asked = 0;
    let mut storeys: BTreeMap<(bool, Option<u32>), Vec<&MarkedMember>> = BTreeMap::new();
    for marked in &marking.members {
        let Some(member) = report.members.get(marked.member.at()) else { continue };
        storeys.entry((member.storey.is_none(), member.storey)).or_default().push(marked);
    }
    let mut plans = Plan::all(report, &rows);
    let mut sheets = Vec::new();
    for ((_, storey), mut members) in storeys {
        members.sort_by(|a, b| {
            let key = |m: &MarkedMember| report.members.get(m.member.at()).map(walk);
            key(a)
                .partial_cmp(&key(b))
                .unwrap_or(std::cmp::Ordering::Equal)
                .then(a.member.cmp(&b.member))
        });
        let at = plans.iter().position(|plan| plan.storey() == storey);
        let plan = at.map(|at| plans.remove(at));
        let mut sheet = Storey {
            name: say::storey(report, storey),
            plan: plan.as_ref().map(|plan| plan.inline(&|_| None)).unwrap_or_default(),
            joists: Vec::new(),
            refused: Vec::new(),
            assumed: Vec::new(),
            bits: Vec::new(),
            besides: Vec::new(),
            nails: plan.as_ref().and_then(|plan| nails::draw(report, plan)),
        };
        let mut bits: BTreeMap<u64, usize> = BTreeMap::new();
        let mut besides: BTreeMap<(ObligationKind, String), Vec<String>> = BTreeMap::new();
        for marked in members {
            let Some(member) = report.members.get(marked.member.at()) else { continue };
            let name = mark(marked.member, member);
            let worst = rows.worst(report, marked.member).unwrap_or_default();
            if worst > Verdict::Pass || !marked.ask.is_empty() {
                asked += 1;
                let why = refused(report, &rows, marked, worst);
                sheet.refused.push(Ask { number: asked, mark: name, why });
                continue;
            }
            if marked.cuts.is_empty() {
                continue;
            }
            if let Some(why) = rests_on(member) {
                asked += 1;
                sheet.assumed.push(Ask { number: asked, mark: name.clone(), why });
            }
            for cut in &marked.cuts {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a bit"
                )]
                let bit = cut.bit_mm.max(0.0) as u64;
                if bit > 0 {
                    *bits.entry(bit).or_default() += 1;
                }
                let Some(judged) = report.cuts.get(cut.cut.at()) else { continue };
                let number = number(&rows, marked.member, cut);
                for obligation in &judged.obligations {
                    let key = (obligation.kind, say::capital(&say::sentence(&obligation.text)));
                    besides.entry(key).or_default().push(format!("{name}/{number}"));
                }
            }
            // As the tape runs out from the datum.
            let mut cuts: Vec<&MarkedCut> = marked.cuts.iter().collect();
            cuts.sort_by(|a, b| {
                let at = |cut: &MarkedCut| cut.from_datum_mm.first().copied().unwrap_or(0.0);
                at(a).total_cmp(&at(b))
            });
            sheet.joists.push(Joist {
                size: format!("{} {}", say::member_kind(member), say::section(member.section)),
                edges: if member.frame.x.z.abs() > 0.5 {
                    [say::side_word(member.frame.z), say::side_word(-member.frame.z)]
                } else {
                    ["top", "bottom"]
                },
                datum: datum(member, marked.datum),
                check: datum(member, marked.check),
                rows: cuts.into_iter().filter_map(|cut| row(report, &rows, marked, cut)).collect(),
                mark: name,
            });
        }
        sheet.bits = bits.into_iter().map(|(bit, n)| (bit.to_string(), n)).collect();
        sheet.besides =
            besides.into_iter().map(|((_, what), marks)| Besides { what, marks }).collect();
        sheets.push(sheet);
    }
    sheets
}

/// Along the bays: members of one direction together, then across them, then along.
fn walk(member: &Member) -> (bool, i64, f64, f64) {
    let x = member.frame.x;
    let upright = x.z.abs() > 0.5;
    let place = member.frame.origin_m;
    #[expect(clippy::cast_possible_truncation, reason = "between -36 and 36")]
    let direction = (x.y.atan2(x.x).to_degrees() / 5.0).round() as i64;
    if upright {
        return (true, 0, (place.x * 10.0).round(), place.y);
    }
    // From the west, or from the south where the members run east and west.
    let square = DVec3::new(-x.y, x.x, 0.0);
    let onward = if square.x + 0.38 * square.y < 0.0 { -square } else { square };
    let across = onward.dot(place);
    (false, direction, (across * 100.0).round(), x.dot(place))
}

/// The number of a cut along its member, as every report counts.
pub(super) fn number(rows: &RowsBy, member: MemberIx, cut: &MarkedCut) -> usize {
    rows.cuts(member).iter().position(|ix| *ix == cut.cut).map_or(0, |at| at + 1)
}

/// Why a member is not to be cut, without rule text.
pub(super) fn refused(
    report: &Report,
    rows: &RowsBy,
    marked: &MarkedMember,
    worst: Verdict,
) -> String {
    let mut why: Vec<String> = marked.ask.clone();
    let cuts = rows.cuts(marked.member).iter().filter_map(|cut| report.cuts.get(cut.at()));
    for (number, cut) in (1..).zip(cuts) {
        if cut.verdict > Verdict::Pass {
            let word = match cut.verdict {
                Verdict::Fail => "does not comply",
                Verdict::Refer => "is for the engineer or the maker",
                _ => "lacks a fact",
            };
            why.push(format!("cut {number} ({}) {word}", say::services(report, cut)));
        }
    }
    if why.is_empty() {
        why.push(format!("the member itself: {}", worst.word()));
    }
    format!("{}.", say::capital(&why.join("; ")))
}

/// What a pass of a member rests on that nobody has confirmed.
pub(super) fn rests_on(member: &Member) -> Option<String> {
    let mut why = Vec::new();
    if member.bearings.iter().any(|b| b.doubtful) {
        why.push("a support under its middle may not carry");
    }
    match member.spans.iter().map(|s| s.basis).max() {
        Some(Basis::MemberEnds) => why.push("its ends are taken as bearings"),
        Some(Basis::NearContact) => why.push("a plate may be missing at a bearing"),
        Some(Basis::Stated) => why.push("its span is stated, not modelled"),
        None if member.kind == MemberKind::Joist => why.push("its bearings are not known"),
        _ => {}
    }
    if member.make == TimberMake::NotStated {
        why.push("it is taken as solid timber, which the model does not say");
    }
    if member.load_bearing.is_none()
        && matches!(member.kind, MemberKind::Stud | MemberKind::Post | MemberKind::Plate)
    {
        why.push("whether it carries is not stated");
    }
    (!why.is_empty()).then(|| format!("{}.", say::capital(&why.join("; "))))
}

/// Running distances: `1170`, `400 to 427`.
fn distances(all: &[f64]) -> String {
    all.iter().map(|mm| say::mm(*mm)).collect::<Vec<_>>().join(" to ")
}

pub(super) fn row(
    report: &Report,
    rows: &RowsBy,
    marked: &MarkedMember,
    cut: &MarkedCut,
) -> Option<Row> {
    let judged = report.cuts.get(cut.cut.at())?;
    let between = (marked.check.x_mm - marked.datum.x_mm).abs();
    let mut check: Vec<f64> = cut.from_datum_mm.iter().map(|mm| (between - mm).round()).collect();
    check.reverse();
    let usual = if cut.listed { "" } else { " (no usual bit: hole saw)" };
    let (what, bit) = match (cut.notch_mm, judged.kind) {
        (Some([width, depth]), kind) => {
            let edge = if kind == CutKind::TopNotch { "top" } else { "underside" };
            let root = if cut.bit_mm > 0.0 {
                format!("root {}", say::mm(cut.bit_mm))
            } else {
                "saw only".into()
            };
            (format!("notch {} wide × {} deep, {edge}", say::mm(width), say::mm(depth)), root)
        }
        (None, _) => ("hole".to_owned(), format!("{}{usual}", say::mm(cut.bit_mm))),
    };
    let tight = if judged.tight { ", tight" } else { "" };
    Some(Row {
        number: number(rows, marked.member, cut),
        what,
        from_datum: distances(&cut.from_datum_mm),
        from_check: distances(&check),
        top: say::mm(cut.top_mm),
        bottom: say::mm(cut.bottom_mm),
        bit,
        service: say::services(report, judged),
        spare: cut.spare_mm.map(|mm| format!("{}{tight}", say::mm(mm))).unwrap_or_default(),
        stops: cut
            .stops_mm
            .map(|[a, b]| format!("{} to {}", say::mm(a), say::mm(b)))
            .unwrap_or_default(),
        besides: judged
            .obligations
            .iter()
            .map(|o| o.kind.short().to_owned())
            .collect::<std::collections::BTreeSet<_>>()
            .into_iter()
            .collect::<Vec<_>>()
            .join(", "),
        fall: fall(report, judged).unwrap_or_default(),
    })
}

/// Which way a service falls where it falls at all: `to the south, 18 mm a metre`.
fn fall(report: &Report, cut: &wimble_model::Cut) -> Option<String> {
    let axes =
        cut.services.iter().filter_map(|s| report.service_axes_m.get(s.at()).copied().flatten());
    axes.into_iter().find_map(|[a, b]| {
        let down = if b.z < a.z { b - a } else { a - b };
        let run = down.truncate().length();
        let slope = 1000.0 * -down.z / run;
        if !(run > 0.01 && slope > 1.0) {
            return None;
        }
        let to = match (down.x.abs() > down.y.abs(), down.x > 0.0, down.y > 0.0) {
            (true, true, _) => "east",
            (true, false, _) => "west",
            (false, _, true) => "north",
            (false, _, false) => "south",
        };
        Some(format!("to the {to}, {} mm a metre", say::mm(slope.round())))
    })
}

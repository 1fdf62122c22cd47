//! From the report to the rows of the contract.

use super::rows::{
    BearingRow, CoverageRow, CutRow, FindingRow, FrameRow, FreeRow, InputRow, IssueRow, LimitRow,
    MeasuredRow, MemberRow, MoveRow, ObligationRow, OpeningRow, PackRow, PlanRow, RemedyRow,
    SectionRow, ServiceRow, ShapeRow, SpanRow, WarningRow,
};
use crate::{Input, Issue, Names, Number, Pack, Report, Warning};
use glam::DVec3;
use std::borrow::Cow;
use wimble_model::{
    Action, Bearing, Cut, CutPlaces, Finding, Frame, FreeWindows, Member, Note, Opening, Remedy,
    RunPlan, Section, Service, ServiceIx, ServiceShape, Unit,
};

pub(crate) fn input(row: &Input) -> InputRow<'_> {
    InputRow {
        path: (&row.path).into(),
        blake3: (&row.blake3).into(),
        schema: (&row.schema).into(),
        length_unit: (&row.length_unit).into(),
        instances: row.instances,
        partial: row.partial,
    }
}

pub(crate) fn issue(row: &Issue) -> IssueRow<'_> {
    IssueRow { time: row.time_text().map(Into::into), settings: texts(&row.settings) }
}

pub(crate) fn pack(row: &Pack) -> PackRow<'_> {
    PackRow {
        id: (&row.id).into(),
        version: (&row.version).into(),
        title: (&row.title).into(),
        sources: texts(&row.sources),
    }
}

pub(crate) fn member<'a>(
    report: &'a Report,
    names: &'a Names,
    id: &'a str,
    row: &'a Member,
) -> MemberRow<'a> {
    MemberRow {
        id: id.into(),
        guid: (&row.element.guid).into(),
        name: row.element.name.as_deref().map(Into::into),
        tag: row.element.tag.as_deref().map(Into::into),
        input: row.element.input,
        item: row.element.item,
        class: (&row.element.class).into(),
        kind: row.kind,
        role: row.role,
        with: row.with.iter().map(|ply| names.member(*ply).into()).collect(),
        storey: row.storey.and_then(|s| report.storeys.get(s as usize)).map(|s| (&s.name).into()),
        material: row.material.as_deref().map(Into::into),
        section: section(row.section),
        length_mm: Number::mm(row.length_mm),
        frame: frame(&row.frame),
        bearings: row.bearings.iter().map(|b| bearing(names, b)).collect(),
        spans: row
            .spans
            .iter()
            .map(|span| SpanRow {
                from_mm: Number::mm(span.from_mm),
                to_mm: Number::mm(span.to_mm),
                basis: span.basis,
            })
            .collect(),
        notes: notes(&row.notes),
    }
}

fn section(section: Section) -> SectionRow {
    let (breadth_mm, depth_mm) = (Number::mm(section.breadth_mm()), Number::mm(section.depth_mm()));
    match section {
        Section::Rectangle { .. } => SectionRow::Rectangle { breadth_mm, depth_mm },
        Section::Round { .. } => SectionRow::Round { breadth_mm, depth_mm },
        Section::IJoist { flange_mm, web_mm, .. } => SectionRow::IJoist {
            breadth_mm,
            depth_mm,
            flange_mm: Number::mm(flange_mm),
            web_mm: Number::mm(web_mm),
        },
        Section::OpenWeb { chord_mm, .. } => {
            SectionRow::OpenWeb { breadth_mm, depth_mm, chord_mm: Number::mm(chord_mm) }
        }
        Section::Other { .. } => SectionRow::Other { breadth_mm, depth_mm },
        Section::Unknown { .. } => SectionRow::Unknown { breadth_mm, depth_mm },
    }
}

fn frame(frame: &Frame) -> FrameRow {
    FrameRow {
        origin_m: metres(frame.origin_m),
        x: frame.x.to_array().map(Number::direction),
        z: frame.z.to_array().map(Number::direction),
    }
}

fn metres(point: DVec3) -> [Number; 3] {
    point.to_array().map(Number::m)
}

fn bearing<'a>(names: &'a Names, row: &'a Bearing) -> BearingRow<'a> {
    let of_member = row.member.map(|ix| names.member(ix));
    let of_element = row.element.as_ref().map(|element| element.guid.as_str());
    BearingRow {
        from_mm: Number::mm(row.from_mm),
        to_mm: Number::mm(row.to_mm),
        support: of_member.or(of_element).map(Into::into),
        name: (&row.name).into(),
        basis: row.basis,
    }
}

pub(crate) fn service<'a>(id: &'a str, row: &'a Service) -> ServiceRow<'a> {
    ServiceRow {
        id: id.into(),
        guid: (&row.element.guid).into(),
        name: row.element.name.as_deref().map(Into::into),
        input: row.element.input,
        class: (&row.element.class).into(),
        kind: row.kind,
        system: row.system.as_deref().map(Into::into),
        run: format!("R{}", row.run).into(),
        shape: match row.shape {
            ServiceShape::RoundMm(diameter) => Some(ShapeRow::RoundMm(Number::mm(diameter))),
            ServiceShape::RectangleMm(sides) => Some(ShapeRow::RectangleMm(sides.map(Number::mm))),
            ServiceShape::Mesh => Some(ShapeRow::Mesh(true)),
            ServiceShape::Unknown => None,
        },
        notes: notes(&row.notes),
    }
}

pub(crate) fn opening<'a>(names: &'a Names, id: &'a str, row: &'a Opening) -> OpeningRow<'a> {
    OpeningRow {
        id: id.into(),
        guid: (&row.element.guid).into(),
        name: row.element.name.as_deref().map(Into::into),
        input: row.element.input,
        class: (&row.element.class).into(),
        member: names.member(row.member).into(),
        source: row.source,
    }
}

pub(crate) fn cut<'a>(
    report: &Report,
    names: &'a Names,
    id: &'a str,
    row: &'a Cut,
    findings: &[usize],
    places: Option<&CutPlaces>,
) -> CutRow<'a> {
    let windows =
        |places: &CutPlaces| places.windows_mm.iter().map(|w| w.map(Number::mm)).collect();
    let member = report.members.get(row.member.at());
    CutRow {
        id: id.into(),
        member: names.member(row.member).into(),
        services: sorted(row.services.iter().map(|s| names.service(*s))),
        openings: sorted(row.openings.iter().map(|o| names.opening(*o))),
        inside: sorted(row.besides.inside.iter().map(|s| names.service(*s))),
        kind: row.kind,
        edge: row.edge,
        span: row.span,
        shared: row.shared,
        x0_mm: Number::mm(row.min_mm.x),
        x1_mm: Number::mm(row.max_mm.x),
        y0_mm: Number::mm(row.min_mm.y),
        y1_mm: Number::mm(row.max_mm.y),
        z0_mm: Number::mm(row.min_mm.z),
        z1_mm: Number::mm(row.max_mm.z),
        width_mm: Number::mm(row.width_mm()),
        height_mm: Number::mm(row.height_mm()),
        offset_mm: Number::mm(row.offset_mm()),
        bit_mm: Number::mm(row.bit_mm),
        from_bearing_mm: member.and_then(|member| row.from_bearing_mm(member)).map(Number::mm),
        margin_mm: row.margin_mm.map(Number::mm),
        tight: row.tight,
        obligations: row
            .obligations
            .iter()
            .map(|o| ObligationRow {
                kind: o.kind,
                rule: (&*o.rule).into(),
                text: (&o.text).into(),
            })
            .collect(),
        point_m: metres(report.point_m(row)),
        verdict: row.verdict,
        windows_mm: places.map(windows),
        findings: findings.iter().map(|finding| names.fingerprint(*finding).into()).collect(),
        notes: notes(&row.besides.notes),
    }
}

pub(crate) fn finding<'a>(
    report: &Report,
    names: &'a Names,
    at: usize,
    row: &'a Finding,
) -> FindingRow<'a> {
    FindingRow {
        fingerprint: names.fingerprint(at).into(),
        place: names.place(report, row).into(),
        rule: (&*row.rule).into(),
        level: row.level,
        verdict: row.verdict,
        member: names.member(row.member).into(),
        cuts: row.cuts.iter().map(|c| names.cut(*c).into()).collect(),
        services: sorted(row.services.iter().map(|s| names.service(*s))),
        measured: row
            .measured
            .map(|m| MeasuredRow { value: in_unit(m.value, m.unit), unit: m.unit }),
        limit: row.limit.map(|l| LimitRow {
            value: in_unit(l.value, l.unit),
            unit: l.unit,
            bound: l.bound,
        }),
        message: (&*row.message).into(),
        source: (&*row.source).into(),
        waived: row.waived.as_deref().map(Into::into),
        remedies: row.remedies.iter().map(|r| remedy(names, r)).collect(),
    }
}

fn in_unit(value: f64, unit: Unit) -> Number {
    match unit {
        Unit::Mm => Number::mm(value),
        Unit::Span | Unit::Depth | Unit::Count | Unit::Degree => Number::ratio(value),
    }
}

fn remedy<'a>(names: &'a Names, row: &'a Remedy) -> RemedyRow<'a> {
    let text: Cow<'_, str> = (&row.text).into();
    let services = sorted(row.services.iter().map(|s| names.service(*s)));
    match row.action {
        Action::MoveAlong { by_mm } => {
            RemedyRow::MoveAlong { by_mm: Number::mm(by_mm), services, text }
        }
        Action::MoveDepth { by_mm } => {
            RemedyRow::MoveDepth { by_mm: Number::mm(by_mm), services, text }
        }
        Action::Smaller { to_mm } => {
            RemedyRow::Smaller { to_mm: Number::mm(to_mm), services, text }
        }
        Action::DeeperMember { to_mm } => {
            RemedyRow::DeeperMember { to_mm: Number::mm(to_mm), text }
        }
        Action::Separate { by_mm } => {
            RemedyRow::Separate { by_mm: Number::mm(by_mm), services, text }
        }
        Action::ShiftRun { vector_m } => {
            RemedyRow::ShiftRun { vector_m: vector_m.map(Number::m), services, text }
        }
        Action::Turn => RemedyRow::Turn { text },
        Action::TrimOut => RemedyRow::TrimOut { text },
        Action::Refer => RemedyRow::Refer { text },
    }
}

pub(crate) fn plan<'a>(names: &'a Names, row: &'a RunPlan) -> PlanRow<'a> {
    let ids = |services: &[ServiceIx]| sorted(services.iter().map(|s| names.service(*s)));
    PlanRow {
        services: ids(&row.services),
        cuts: row.cuts.iter().map(|c| names.cut(*c).into()).collect(),
        moves: row
            .moves
            .iter()
            .map(|m| MoveRow { services: ids(&m.services), vector_m: m.vector_m.map(Number::m) })
            .collect(),
        least: row.least,
        text: (&row.text).into(),
    }
}

pub(crate) fn free<'a>(names: &'a Names, row: &'a FreeWindows) -> FreeRow<'a> {
    FreeRow {
        member: names.member(row.member).into(),
        kept_for: row.kept_for.as_ref().map(Into::into),
        size_mm: Number::mm(row.size_mm),
        windows_mm: row.windows_mm.iter().map(|w| w.map(Number::mm)).collect(),
    }
}

pub(crate) fn coverage(row: &wimble_model::CoverageRow) -> CoverageRow<'_> {
    CoverageRow {
        input: row.input,
        class: (&row.class).into(),
        count: row.count,
        status: row.status,
        reason: (&row.reason).into(),
        examples: texts(&row.examples),
    }
}

pub(crate) fn warning(row: &Warning) -> WarningRow<'_> {
    WarningRow { input: row.input, line: row.line, text: (&row.text).into() }
}

fn texts(list: &[String]) -> Vec<Cow<'_, str>> {
    list.iter().map(Into::into).collect()
}

fn notes(list: &[Note]) -> Vec<Cow<'_, str>> {
    list.iter().map(|note| (&note.0).into()).collect()
}

fn sorted<'a>(ids: impl Iterator<Item = &'a str>) -> Vec<Cow<'a, str>> {
    let mut ids: Vec<_> = ids.map(Cow::from).collect();
    ids.sort_unstable();
    ids
}

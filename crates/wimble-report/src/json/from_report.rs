//! From the report to the rows of the contract; members, services, cuts and findings go straight to
//! their lines ([`super::straight`]).

use super::rows::{
    CoverageRow, FreeRow, InputRow, IssueRow, MoveRow, OpeningRow, PackRow, PlanRow, RemedyRow,
    SectionRow, WarningRow,
};
use crate::{Input, Issue, Names, Number, Pack, Warning};
use std::borrow::Cow;
use wimble_model::{Action, FreeWindows, Opening, Remedy, RunPlan, Section, ServiceIx};

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

pub(super) fn section(section: Section) -> SectionRow {
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

pub(super) fn remedy<'a>(names: &'a Names, row: &'a Remedy) -> RemedyRow<'a> {
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

fn sorted<'a>(ids: impl Iterator<Item = &'a str>) -> Vec<Cow<'a, str>> {
    let mut ids: Vec<_> = ids.map(Cow::from).collect();
    ids.sort_unstable();
    ids
}

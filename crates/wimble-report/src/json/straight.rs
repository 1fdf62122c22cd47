//! Members, services, cuts and findings, of which a report has many: straight from the report into
//! their lines. The keys are those of [`super::rows`], in that order.

use super::from_report;
use super::line::Written;
use super::row::{Row, key};
use crate::{Names, Report};
use smallvec::SmallVec;
use wimble_model::{
    Bearing, Cut, CutPlaces, Finding, Frame, Limit, Measured, Member, Note, Obligation, Service,
    ServiceShape, Span, Unit,
};

pub(crate) fn member(
    row: &mut Row<'_>,
    report: &Report,
    names: &Names,
    id: &str,
    member: &Member,
) -> Written {
    let element = &member.element;
    let storey = member.storey.and_then(|storey| report.storeys.get(storey as usize));
    row.text(key!("id"), id);
    row.text(key!("guid"), &element.guid);
    row.perhaps_text(key!("name"), element.name.as_deref());
    row.perhaps_text(key!("tag"), element.tag.as_deref());
    row.count(key!("input"), element.input);
    row.perhaps_count(key!("item"), element.item);
    row.text(key!("class"), &element.class);
    row.value(key!("kind"), &member.kind)?;
    row.value(key!("role"), &member.role)?;
    row.texts(key!("with"), member.with.iter().map(|ply| names.member(*ply)));
    row.perhaps_text(key!("storey"), storey.map(|storey| storey.name.as_str()));
    row.perhaps_text(key!("material"), member.material.as_deref());
    row.value(key!("section"), &from_report::section(member.section))?;
    row.mm(key!("length_mm"), member.length_mm);
    row.row(key!("frame"), |row| frame(row, &member.frame))?;
    row.rows(key!("bearings"), &member.bearings, |row, it| bearing(row, names, it))?;
    row.rows(key!("spans"), &member.spans, span)?;
    notes(row, &member.notes);
    Ok(())
}

fn frame(row: &mut Row<'_>, frame: &Frame) -> Written {
    row.metres(key!("origin_m"), frame.origin_m.to_array());
    row.direction(key!("x"), frame.x.to_array());
    row.direction(key!("z"), frame.z.to_array());
    Ok(())
}

fn bearing(row: &mut Row<'_>, names: &Names, bearing: &Bearing) -> Written {
    let of_member = bearing.member.map(|ix| names.member(ix));
    let of_element = bearing.element.as_ref().map(|element| element.guid.as_str());
    row.mm(key!("from_mm"), bearing.from_mm);
    row.mm(key!("to_mm"), bearing.to_mm);
    row.perhaps_text(key!("support"), of_member.or(of_element));
    row.text(key!("name"), &bearing.name);
    row.value(key!("basis"), &bearing.basis)
}

fn span(row: &mut Row<'_>, span: &Span) -> Written {
    row.mm(key!("from_mm"), span.from_mm);
    row.mm(key!("to_mm"), span.to_mm);
    row.value(key!("basis"), &span.basis)
}

pub(crate) fn service(row: &mut Row<'_>, id: &str, service: &Service) -> Written {
    let element = &service.element;
    row.text(key!("id"), id);
    row.text(key!("guid"), &element.guid);
    row.perhaps_text(key!("name"), element.name.as_deref());
    row.count(key!("input"), element.input);
    row.text(key!("class"), &element.class);
    row.value(key!("kind"), &service.kind)?;
    row.perhaps_text(key!("system"), service.system.as_deref());
    row.numbered(key!("run"), b'R', service.run);
    row.perhaps_row(key!("shape"), shape(service.shape), |row, shape| {
        match shape {
            ServiceShape::RoundMm(diameter) => row.mm(key!("round_mm"), diameter),
            ServiceShape::RectangleMm(sides) => row.several_mm(key!("rectangle_mm"), sides),
            ServiceShape::Mesh | ServiceShape::Unknown => row.truth(key!("mesh"), true),
        }
        Ok(())
    })?;
    notes(row, &service.notes);
    Ok(())
}

/// The shape, if the model gives a size.
fn shape(shape: ServiceShape) -> Option<ServiceShape> {
    (shape != ServiceShape::Unknown).then_some(shape)
}

pub(crate) fn cut(
    row: &mut Row<'_>,
    report: &Report,
    names: &Names,
    at: usize,
    cut: &Cut,
    findings: &[usize],
    places: Option<&CutPlaces>,
) -> Written {
    let member = report.members.get(cut.member.at());
    row.digest(key!("id"), names.cuts.get(at));
    row.text(key!("member"), names.member(cut.member));
    sorted(row, key!("services"), &cut.services, |service| names.service(*service));
    sorted(row, key!("openings"), &cut.openings, |opening| names.opening(*opening));
    sorted(row, key!("inside"), &cut.besides.inside, |service| names.service(*service));
    row.value(key!("kind"), &cut.kind)?;
    row.value(key!("edge"), &cut.edge)?;
    row.perhaps_count(key!("span"), cut.span);
    row.count(key!("shared"), cut.shared);
    row.mm(key!("x0_mm"), cut.min_mm.x);
    row.mm(key!("x1_mm"), cut.max_mm.x);
    row.mm(key!("y0_mm"), cut.min_mm.y);
    row.mm(key!("y1_mm"), cut.max_mm.y);
    row.mm(key!("z0_mm"), cut.min_mm.z);
    row.mm(key!("z1_mm"), cut.max_mm.z);
    row.mm(key!("width_mm"), cut.width_mm());
    row.mm(key!("height_mm"), cut.height_mm());
    row.mm(key!("offset_mm"), cut.offset_mm());
    row.mm(key!("bit_mm"), cut.bit_mm);
    let from_bearing_mm = member.and_then(|member| cut.from_bearing_mm(member));
    row.perhaps_mm(key!("from_bearing_mm"), from_bearing_mm);
    row.perhaps_mm(key!("margin_mm"), cut.margin_mm);
    row.truth(key!("tight"), cut.tight);
    row.rows(key!("obligations"), &cut.obligations, obligation)?;
    row.metres(key!("point_m"), report.point_m(cut).to_array());
    row.value(key!("verdict"), &cut.verdict)?;
    if let Some(places) = places {
        row.stretches(key!("windows_mm"), &places.windows_mm);
    }
    let prints = findings.iter().map(|finding| names.fingerprints.get(*finding));
    row.digests(key!("findings"), prints);
    notes(row, &cut.besides.notes);
    Ok(())
}

fn obligation(row: &mut Row<'_>, obligation: &Obligation) -> Written {
    row.value(key!("kind"), &obligation.kind)?;
    row.text(key!("rule"), &obligation.rule);
    row.text(key!("text"), &obligation.text);
    Ok(())
}

pub(crate) fn finding(
    row: &mut Row<'_>,
    report: &Report,
    names: &Names,
    at: usize,
    finding: &Finding,
) -> Written {
    row.digest(key!("fingerprint"), names.fingerprints.get(at));
    row.text(key!("place"), &names.place(report, finding));
    row.text(key!("rule"), &finding.rule);
    row.value(key!("level"), &finding.level)?;
    row.value(key!("verdict"), &finding.verdict)?;
    row.text(key!("member"), names.member(finding.member));
    row.digests(key!("cuts"), finding.cuts.iter().map(|cut| names.cuts.get(cut.at())));
    sorted(row, key!("services"), &finding.services, |service| names.service(*service));
    row.perhaps_row(key!("measured"), finding.measured, measured)?;
    row.perhaps_row(key!("limit"), finding.limit, limit)?;
    row.text(key!("message"), &finding.message);
    row.text(key!("source"), &finding.source);
    row.perhaps_text(key!("waived"), finding.waived.as_deref());
    let remedies = finding.remedies.iter().map(|remedy| from_report::remedy(names, remedy));
    row.values(key!("remedies"), remedies)
}

fn measured(row: &mut Row<'_>, measured: Measured) -> Written {
    figure(row, measured.value, measured.unit);
    row.value(key!("unit"), &measured.unit)
}

fn limit(row: &mut Row<'_>, limit: Limit) -> Written {
    figure(row, limit.value, limit.unit);
    row.value(key!("unit"), &limit.unit)?;
    row.value(key!("bound"), &limit.bound)
}

fn figure(row: &mut Row<'_>, value: f64, unit: Unit) {
    match unit {
        Unit::Mm => row.mm(key!("value"), value),
        Unit::Span | Unit::Depth | Unit::Count | Unit::Degree => row.ratio(key!("value"), value),
    }
}

/// Ids in order; nearly always there is one, or none.
fn sorted<'a, T>(
    row: &mut Row<'_>,
    key: &'static str,
    list: &'a [T],
    id: impl Fn(&'a T) -> &'a str,
) {
    let ids = list.iter().map(id);
    if list.len() < 2 {
        return row.texts(key, ids);
    }
    let mut ids: SmallVec<[&str; 8]> = ids.collect();
    ids.sort_unstable();
    row.texts(key, ids);
}

fn notes(row: &mut Row<'_>, notes: &[Note]) {
    row.texts(key!("notes"), notes.iter().map(|note| note.0.as_str()));
}

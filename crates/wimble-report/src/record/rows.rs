//! What the record says, before it is paper or data.

use crate::{Report, say};
use serde::Serialize;
use wimble_model::{Cut, CutIx, CutKind, Finding, Level, MemberIx, Verdict};

/// The whole record.
#[derive(Debug, Serialize)]
pub(super) struct Record {
    pub(super) schema: &'static str,
    pub(super) answer: String,
    pub(super) files: Vec<File>,
    pub(super) packs: Vec<String>,
    pub(super) measured: Option<Measured>,
    pub(super) members: Vec<MemberRow>,
    pub(super) assumptions: Vec<String>,
    pub(super) not_checked: Vec<String>,
    pub(super) cautions: Vec<&'static str>,
}

/// What was read, so that the record can be held against it.
#[derive(Debug, Serialize)]
pub(super) struct File {
    pub(super) path: String,
    pub(super) blake3: String,
}

/// Who measured.
#[derive(Debug, Serialize)]
pub(super) struct Measured {
    pub(super) by: String,
    pub(super) on: String,
    pub(super) with: String,
    pub(super) along_mm: f64,
    pub(super) level_mm: f64,
    pub(super) size_mm: f64,
}

/// One member.
#[derive(Debug, Serialize)]
pub(super) struct MemberRow {
    #[serde(skip)]
    pub(super) ix: MemberIx,
    pub(super) name: String,
    pub(super) guid: String,
    pub(super) facts: String,
    pub(super) verdict: Verdict,
    pub(super) allowed: Vec<String>,
    pub(super) cuts: Vec<CutRow>,
    /// What is said of the member and not of one cut of it.
    pub(super) remarks: Vec<String>,
}

/// One cut.
#[derive(Debug, Serialize)]
pub(super) struct CutRow {
    pub(super) number: usize,
    pub(super) what: String,
    pub(super) through: String,
    pub(super) place: String,
    pub(super) margin_mm: Option<f64>,
    pub(super) verdict: Verdict,
    pub(super) said: Vec<Said>,
    pub(super) fit: Vec<String>,
}

/// What a rule says of a cut.
#[derive(Debug, Serialize)]
pub(super) struct Said {
    pub(super) rule: String,
    pub(super) verdict: Verdict,
    pub(super) figures: Option<String>,
    pub(super) message: String,
    pub(super) source: String,
}

/// What is printed on every record.
const CAUTIONS: [&str; 4] = [
    "Checks geometry against published rules and the settings. Not a structural design. Local code \
     and a licensed person decide.",
    "refer and unknown are not permission.",
    "Joist size for its span: not checked.",
    "Fire-stops listed are reminders; product and seal are not checked.",
];

pub(super) fn of(report: &Report) -> Record {
    let members: Vec<MemberRow> = (0..report.members.len())
        .map(MemberIx::from)
        .filter_map(|member| member_row(report, member))
        .collect();
    let count = |verdict: Verdict| {
        members.iter().flat_map(|m| &m.cuts).filter(|cut| cut.verdict == verdict).count()
    };
    let cuts: usize = members.iter().map(|m| m.cuts.len()).sum();
    let parts: Vec<String> = Verdict::WORST_FIRST
        .into_iter()
        .filter(|verdict| count(*verdict) > 0)
        .map(|verdict| format!("{} {}", count(verdict), verdict.word()))
        .collect();
    let answer = format!(
        "{cuts} cut{} in {} member{}: {}",
        if cuts == 1 { "" } else { "s" },
        members.len(),
        if members.len() == 1 { "" } else { "s" },
        if parts.is_empty() { "nothing to judge".to_owned() } else { parts.join(", ") }
    );
    let uncut = report.members.len() - members.len();
    let said = report.assumptions.iter().map(|text| say::sentence(text));
    let (mut not_checked, assumptions): (Vec<String>, Vec<String>) =
        said.partition(|text| text.ends_with("not checked"));
    not_checked.extend(report.unanswered.iter().map(|text| say::sentence(text)));
    if uncut > 0 {
        not_checked.push(format!("{uncut} members without cuts are not listed"));
    }
    not_checked.extend(report.warnings.iter().map(|warning| say::sentence(&warning.text)));
    let listed = |status: wimble_model::CoverageStatus| {
        matches!(status.word(), "unreadable" | "no-shape" | "ignored" | "layer-only")
    };
    not_checked.extend(report.coverage.iter().filter(|row| listed(row.status)).map(|row| {
        format!(
            "{} {}: {}, {}",
            row.count,
            say::plain(&row.class),
            row.status.word(),
            say::plain(&row.reason)
        )
    }));
    let file =
        |input: &crate::Input| File { path: say::plain(&input.path), blake3: input.blake3.clone() };
    Record {
        schema: "wimble-record/1",
        answer,
        files: report.inputs.iter().map(file).collect(),
        packs: report.packs.iter().map(|pack| format!("{}: {}", pack.id, pack.title)).collect(),
        measured: report.survey.as_ref().map(|survey| Measured {
            by: say::plain(&survey.by),
            on: say::plain(&survey.on),
            with: say::plain(&survey.with),
            along_mm: survey.along_mm,
            level_mm: survey.level_mm,
            size_mm: survey.size_mm,
        }),
        members,
        assumptions,
        not_checked,
        cautions: CAUTIONS.to_vec(),
    }
}

fn member_row(report: &Report, ix: MemberIx) -> Option<MemberRow> {
    let member = report.members.get(ix.at())?;
    let of_member = report.findings.iter().filter(|finding| finding.member == ix);
    let remarks: Vec<String> = of_member
        .filter(|finding| finding.cuts.is_empty())
        .map(|finding| format!("{}: {}", finding.rule, say::sentence(&finding.message)))
        .collect();
    let cuts: Vec<CutRow> = (0..report.cuts.len())
        .map(CutIx::from)
        .filter_map(|cut| Some((cut, report.cuts.get(cut.at())?)))
        .filter(|(_, cut)| cut.member == ix && cut.kind != CutKind::Joinery)
        .enumerate()
        .map(|(at, (cut_ix, cut))| cut_row(report, at + 1, cut_ix, cut))
        .collect();
    if cuts.is_empty() && remarks.is_empty() {
        return None;
    }
    let allowed = report
        .limits
        .iter()
        .filter(|limits| limits.member == ix)
        .flat_map(|limits| limits.lines.iter().cloned())
        .collect();
    Some(MemberRow {
        ix,
        name: say::member_name(member),
        guid: say::plain(&member.element.guid),
        facts: say::member_facts(member),
        verdict: cuts.iter().map(|cut| cut.verdict).max().unwrap_or_default(),
        allowed,
        cuts,
        remarks,
    })
}

fn cut_row(report: &Report, number: usize, ix: CutIx, cut: &Cut) -> CutRow {
    let services: Vec<String> = cut
        .services
        .iter()
        .filter_map(|service| report.services.get(service.at()))
        .map(say::service)
        .collect();
    let said = report.findings.iter().filter(|finding| finding.cuts.contains(&ix)).map(said);
    CutRow {
        number,
        what: say::cut(cut),
        through: say::all_of(&services),
        place: report.members.get(cut.member.at()).map(|m| say::place(m, cut)).unwrap_or_default(),
        margin_mm: cut
            .margin_mm
            .filter(|mm| mm.is_finite())
            .map(|mm| crate::number::round(mm, 10.0)),
        verdict: cut.verdict,
        said: said.collect(),
        fit: cut.obligations.iter().map(|o| say::sentence(&o.text)).collect(),
    }
}

fn said(finding: &Finding) -> Said {
    Said {
        rule: finding.rule.to_string(),
        verdict: if finding.level == Level::Note { Verdict::Pass } else { finding.verdict },
        figures: say::measured(finding.measured, finding.limit),
        message: say::sentence(&finding.message),
        source: say::sentence(&finding.source),
    }
}

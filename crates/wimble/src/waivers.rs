//! Findings that the project accepts: each with a reason and until when.
//!
//! A waiver changes no verdict: the cut and the finding stay in every report, marked, and only the
//! exit code passes over them. One that has run out, or that fits nothing, is told.

use crate::Settings;
use jiff::civil::Date;
use wimble_model::{Element, Finding, Verdict};
use wimble_recognise::is_like;
use wimble_report::{Names, Report, Warning};

/// What is accepted. Every key given must fit; patterns as everywhere in the settings.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Waiver {
    /// Fingerprint of one finding.
    pub finding: Option<String>,
    /// Pattern for the rule (`uk-solid-joist/hole-*`).
    pub rule: Option<String>,
    /// Pattern for the member's name, or its GlobalId.
    pub member: Option<String>,
    /// Pattern for a service's name, or its GlobalId.
    pub service: Option<String>,
    /// Pattern for the storey's name.
    pub storey: Option<String>,
    /// Why.
    pub reason: String,
    /// Who says so.
    pub by: Option<String>,
    /// The last day on which it holds.
    pub until: Date,
    /// Line of the settings, for messages.
    pub line: usize,
}

/// Marks what is waived and tells of waivers that do nothing.
pub(crate) fn apply(report: &mut Report, settings: &Settings) {
    if settings.waivers.is_empty() {
        return;
    }
    let names = Names::of(report);
    for waiver in &settings.waivers {
        let fits: Vec<usize> =
            (0..report.findings.len()).filter(|at| waiver.fits(report, &names, *at)).collect();
        let holds = settings.today.is_some_and(|today| today <= waiver.until);
        if fits.is_empty() || !holds {
            let text = waiver.idle(settings.today, fits.len());
            report.warnings.push(Warning { input: None, line: None, text });
            continue;
        }
        for at in fits {
            if let Some(finding) = report.findings.get_mut(at)
                && finding.waived.is_none()
            {
                finding.waived = Some(waiver.text().into());
            }
        }
    }
    report.warnings.sort();
}

impl Waiver {
    /// Whether it speaks of a finding; notes need none.
    fn fits(&self, report: &Report, names: &Names, at: usize) -> bool {
        let Some(finding) = report.findings.get(at).filter(|f| f.verdict > Verdict::Pass) else {
            return false;
        };
        self.finding.as_deref().is_none_or(|wanted| wanted == names.fingerprint(at))
            && self.rule.as_deref().is_none_or(|pattern| is_like(pattern, &finding.rule))
            && self.member_fits(report, finding)
            && self.service.as_deref().is_none_or(|pattern| {
                let services = finding.services.iter().filter_map(|s| report.services.get(s.at()));
                services.into_iter().any(|service| is(pattern, &service.element))
            })
    }

    fn member_fits(&self, report: &Report, finding: &Finding) -> bool {
        let Some(member) = report.members.get(finding.member.at()) else { return false };
        let storey = member.storey.and_then(|s| report.storeys.get(s as usize));
        self.member.as_deref().is_none_or(|pattern| is(pattern, &member.element))
            && self
                .storey
                .as_deref()
                .is_none_or(|pattern| storey.is_some_and(|s| is_like(pattern, &s.name)))
    }

    /// `Agreed with the engineer (A. Weber, until 2027-03-01)`.
    fn text(&self) -> String {
        let who = self.by.as_ref().map(|by| format!("{by}, ")).unwrap_or_default();
        format!("{} ({who}until {})", self.reason, self.until)
    }

    /// Why it does nothing.
    fn idle(&self, today: Option<Date>, fits: usize) -> String {
        let which = format!("The waiver in line {} of the settings", self.line);
        let findings = if fits == 1 { "1 finding".into() } else { format!("{fits} findings") };
        match today {
            _ if fits == 0 => format!("{which} ({}) fits no finding; take it out.", self.reason),
            Some(_) => format!(
                "{which} ({}) ran out on {} and lifts no more: {findings}. Settle it, or renew the waiver.",
                self.reason, self.until
            ),
            None => format!(
                "{which} ({}) holds until {}, and the day is not known: {findings} count.",
                self.reason, self.until
            ),
        }
    }
}

fn is(pattern: &str, element: &Element) -> bool {
    element.guid == pattern || element.name.as_deref().is_some_and(|name| is_like(pattern, name))
}

//! CUT, DO NOT CUT or ASK first: six lines at most.

use super::plan::{Question, bit};
use super::said::Said;
use crate::check::{Checked, check_sheet};
use crate::{Input, Settings};
use anyhow::{Result, anyhow};
use wimble_model::{Cut, CutKind, Finding, Level, Service, ServiceShape, Verdict};
use wimble_sheet::{Rounded, TapeUnit, bare_tape, print_tape, read_service};

/// What is said to the person with the saw.
pub(super) struct Told {
    pub(super) verdict: Verdict,
    pub(super) lines: Vec<String>,
}

/// How the sheet is called in messages.
const PATH: &str = "the sheet.toml";
/// Stop lines that are always true; short enough for a telephone.
const STOP: &str = "Stop at a knot, a split, an old cut, a hidden cable or pipe. Checks published rules; \
                    not a structural design.";

pub(super) fn of(said: &Said, settings: &Settings) -> Result<Told> {
    let input = Input::new(PATH, said.toml().into_bytes());
    let checked = check_sheet(&input, settings).map_err(|error| match error {
        crate::CheckError::Sheet(trouble) => match trouble.help.as_str() {
            "" => anyhow!("{}", trouble.message),
            help => anyhow!("{}: {help}", trouble.message),
        },
        error => error.into(),
    })?;
    let last = said.cuts.last().ok_or_else(|| anyhow!("nothing goes through"))?;
    let placed = said.cuts.iter().filter(|cut| !cut.is_plan()).count();
    let mut lines = if last.is_plan() {
        let pipe = last.pipe().ok_or_else(|| anyhow!("say where the cut is"))?;
        let service = read_service(pipe).map_err(|why| anyhow!(why))?;
        planned(said, &checked, settings, &service.service)
    } else {
        judged(said, &checked, settings, placed)
    };
    lines.1.push(assumed(said, &checked, last.pipe()));
    lines.1.push(STOP.to_owned());
    Ok(Told { verdict: lines.0, lines: lines.1 })
}

const fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "CUT",
        Verdict::Fail => "DO NOT CUT",
        Verdict::Refer | Verdict::Unknown => "ASK first",
    }
}

fn question<'a>(
    said: &Said,
    checked: &'a Checked,
    settings: &'a Settings,
    others: &'a [Cut],
) -> Option<Question<'a>> {
    let member = checked.report.members.first()?;
    Some(Question {
        member,
        others,
        packs: &checked.packs,
        rules: &settings.rules,
        unit: said.unit(),
    })
}

/// Nobody said where: the answer is where it may go.
fn planned(
    said: &Said,
    checked: &Checked,
    settings: &Settings,
    service: &Service,
) -> (Verdict, Vec<String>) {
    let clearance = settings.cross.clearance.of(service);
    let others = &checked.report.cuts;
    let Some(question) = question(said, checked, settings, others) else {
        return (Verdict::Unknown, vec!["ASK first: the joist is not known.".to_owned()]);
    };
    let ServiceShape::RoundMm(outside) = service.shape else {
        let line = "ASK first: only round pipes and cables have rules for holes.".to_owned();
        return (
            Verdict::Refer,
            vec![line, "Run it with the joists, or have them trimmed.".into()],
        );
    };
    match question.best(outside, clearance) {
        Some(way) if way.verdict == Verdict::Pass => {
            let first = format!("CUT a {}: {}.", question.cut(&way), question.said(&way));
            (Verdict::Pass, vec![first])
        }
        Some(way) => {
            let first = format!(
                "ASK first: a {} ({}) is for the engineer or the maker.",
                question.cut(&way),
                question.said(&way)
            );
            (Verdict::Refer, vec![first])
        }
        None => {
            let hole = print_tape(outside + clearance, said.unit(), Rounded::Up);
            let first =
                format!("DO NOT CUT: a {hole} hole has no place in this joist, nor has a notch.");
            (Verdict::Fail, vec![first, question.instead(service, clearance)])
        }
    }
}

/// The last cut that was said, judged beside the others.
fn judged(
    said: &Said,
    checked: &Checked,
    settings: &Settings,
    placed: usize,
) -> (Verdict, Vec<String>) {
    let report = &checked.report;
    // Cuts that meet are one; the last that was said is in the one that holds its row.
    let row = format!("Joist/{placed}");
    let of_row = |cut: &&Cut| {
        let services = cut.services.iter().filter_map(|ix| report.services.get(ix.at()));
        let openings = cut.openings.iter().filter_map(|ix| report.openings.get(ix.at()));
        services.map(|s| &s.element).chain(openings.map(|o| &o.element)).any(|e| e.guid == row)
    };
    let Some(cut) = report.cuts.iter().find(of_row) else {
        return (Verdict::Pass, vec!["Nothing to cut: it does not enter the wood.".to_owned()]);
    };
    let at = report.cuts.iter().position(|other| other == cut).unwrap_or_default();
    let mut findings: Vec<&Finding> = report
        .findings
        .iter()
        .filter(|f| f.cuts.iter().any(|ix| ix.at() == at) && f.level != Level::Note)
        .collect();
    findings.sort_by_key(|f| std::cmp::Reverse(f.verdict));
    let verdict = findings.first().map_or(cut.verdict, |f| f.verdict.max(cut.verdict));
    let what = describe(said, checked, cut);
    let mut lines = vec![format!("{}: {what}.", word(verdict))];
    if let Some(finding) = findings.first() {
        lines.push(in_unit(&first_sentences(&finding.message), said.unit()));
    } else if let Some(margin) = cut.margin_mm.filter(|_| cut.tight) {
        let spare = print_tape(margin, said.unit(), Rounded::Down);
        lines.push(format!("Mark it carefully: only {spare} to spare."));
    }
    let service = cut.services.first().and_then(|ix| report.services.get(ix.at()));
    if verdict > Verdict::Pass
        && let Some(service) = service
        && let ServiceShape::RoundMm(outside) = service.shape
    {
        let others: Vec<Cut> = report.cuts.iter().filter(|other| *other != cut).cloned().collect();
        let clearance = settings.cross.clearance.of(service);
        if let Some(question) = question(said, checked, settings, &others) {
            match question.best(outside, clearance) {
                Some(way) if way.verdict == Verdict::Pass => lines.push(format!(
                    "It may go: {}, {}.",
                    question.cut(&way),
                    question.said(&way)
                )),
                // Where it is the joist that is special, nothing smaller or deeper helps.
                _ if verdict < Verdict::Fail => {}
                _ => lines.push(question.instead(service, clearance)),
            }
        }
    }
    if !cut.obligations.is_empty() {
        let fit: Vec<&str> = cut.obligations.iter().map(|o| o.text.as_str()).collect();
        lines.push(format!("Fit: {}", fit.join(" ")));
    }
    (verdict, lines)
}

/// What is to be cut: `28 mm hole (bit 28 mm)`.
fn describe(said: &Said, checked: &Checked, cut: &Cut) -> String {
    let unit = said.unit();
    let of = |mm: f64| print_tape(mm, unit, Rounded::Nearest);
    let from = checked
        .report
        .members
        .first()
        .and_then(|member| cut.span.and_then(|span| member.spans.get(span as usize)))
        .map(|span| {
            let (left, right) = (cut.mid_x_mm() - span.from_mm, span.to_mm - cut.mid_x_mm());
            let (mm, face) = if left <= right { (left, "left") } else { (right, "right") };
            format!(", middle {} from the {face} face", of(mm))
        })
        .unwrap_or_default();
    match cut.kind {
        CutKind::TopNotch | CutKind::BottomNotch => {
            let edge = if cut.kind == CutKind::TopNotch { "top" } else { "underside" };
            let (wide, deep) = (of(cut.width_mm()), of(cut.height_mm()));
            format!("notch {wide} wide and {deep} deep in the {edge}{from}")
        }
        CutKind::Hole | CutKind::WebHole if !cut.openings.is_empty() => {
            format!("hole of {}{from}", of(cut.bit_mm))
        }
        CutKind::Hole | CutKind::WebHole => {
            let bit = of(bit(cut.bit_mm, unit));
            format!("{bit} bit (needs {}){from}", of(cut.bit_mm))
        }
        kind => format!("{}{from}", kind.word().replace('-', " ")),
    }
}

/// The reason, in no more than two sentences.
fn first_sentences(message: &str) -> String {
    let mut said = String::new();
    for (count, sentence) in message.split_inclusive(". ").enumerate() {
        if count == 2 || said.len() + sentence.len() > 220 {
            break;
        }
        said.push_str(sentence);
    }
    if said.is_empty() { message.to_owned() } else { said.trim().to_owned() }
}

/// A reason in the unit that was typed. Findings count in millimetres; whoever measures in inches
/// reads off inches: limits to the safe side.
fn in_unit(message: &str, unit: TapeUnit) -> String {
    if unit == TapeUnit::Mm {
        return message.to_owned();
    }
    let words: Vec<&str> = message.split(' ').collect();
    let figure = |at: usize| words.get(at).and_then(|word| word.parse::<f64>().ok());
    // The end of the clause behind a length: `mm;`.
    let behind_mm = |at: usize| {
        let rest = words.get(at)?.strip_prefix("mm")?;
        (!rest.contains(char::is_alphanumeric)).then_some(rest)
    };
    let said_before = |at: usize, word: &str| {
        words.get(at.saturating_sub(3)..at).is_some_and(|before| before.contains(&word))
    };
    let mut said: Vec<String> = Vec::new();
    let mut at = 0;
    while let Some(word) = words.get(at) {
        let range = figure(at).zip(figure(at + 2)).filter(|_| words.get(at + 1) == Some(&"to"));
        if let (Some((from, to)), Some(rest)) = (range, behind_mm(at + 3)) {
            let (up, down) = match said_before(at, "may") {
                true => (Rounded::Up, Rounded::Down),
                false => (Rounded::Nearest, Rounded::Nearest),
            };
            let (from, to) = (bare_tape(from, unit, up), bare_tape(to, unit, down));
            said.push(format!("{from} to {to}{rest}"));
            at += 4;
        } else if let (Some(mm), Some(rest)) = (figure(at), behind_mm(at + 1)) {
            let rounded = if said_before(at, "least") {
                Rounded::Up
            } else if said_before(at, "most") {
                Rounded::Down
            } else {
                Rounded::Nearest
            };
            said.push(format!("{}{rest}", print_tape(mm, unit, rounded)));
            at += 2;
        } else {
            said.push((*word).to_owned());
            at += 1;
        }
    }
    said.join(" ")
}

/// What the answer rests on, in one line.
fn assumed(said: &Said, checked: &Checked, pipe: Option<&str>) -> String {
    let mut parts: Vec<String> = Vec::new();
    for text in &checked.report.assumptions {
        if let Some(rules) = text.strip_prefix("Rules: ") {
            let name = rules.split(" (").next().unwrap_or(rules);
            parts.push(format!("{name} rules"));
        } else if let Some(use_of) = text.strip_prefix("Use: ") {
            parts.push(use_of.replace(" (assumed)", "").replace(" (stated)", ""));
        }
    }
    if said.breadth_assumed() {
        let section = checked.report.members.first().map(|m| m.section.breadth_mm());
        let breadth = print_tape(section.unwrap_or_default(), said.unit(), Rounded::Nearest);
        parts.push(format!("{breadth} thick"));
    }
    // How the pipe's name was read, where it was not plain.
    let read = pipe.and_then(|pipe| read_service(pipe).ok()).and_then(|read| read.said);
    if let Some(read) = read {
        parts.push(read);
    }
    parts.push("joist large enough for its span".to_owned());
    format!("Assumed: {}.", parts.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reasons_are_in_the_unit_that_was_typed_and_limits_to_the_safe_side() {
        for (mm, inches) in [
            (
                "The hole leaves 28.1 mm of wood to the nearer edge; at least 50.8 mm. Raise it.",
                "The hole leaves 1-1/8 in of wood to the nearer edge; at least 2 in. Raise it.",
            ),
            (
                "The top notch is this deep: 41.3 mm; the most is 39.1 mm.",
                "The top notch is this deep: 1-5/8 in; the most is 1-1/2 in.",
            ),
            (
                "The hole lies 486.5 to 513.5 mm from the face; it may lie 900 to 1440 mm from it.",
                "The hole lies 1 ft 7-1/8 in to 1 ft 8-3/16 in from the face; it may lie 2 ft \
                 11-7/16 in to 4 ft 8-11/16 in from it.",
            ),
            ("2 mm2 cables of 3 joists", "2 mm2 cables of 3 joists"),
        ] {
            assert_eq!(in_unit(mm, TapeUnit::Inch), inches);
            assert_eq!(in_unit(mm, TapeUnit::Mm), mm);
        }
    }
}

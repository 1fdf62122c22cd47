//! The page for a meeting and for the phone: one HTML file that opens offline.
//!
//! Top to bottom: the question answered in one sentence, filters that read as sentences, a key
//! plan of each storey, every member that needs attention as a drawing with what to do, then
//! schedules, rules, assumptions, coverage and the cautions. Nothing is fetched; without scripts
//! only the filters are missing.

mod members;
mod schedules;
mod show;

use crate::cautions::cautions;
use crate::drawing::{self, Plan, Svg};
use crate::rows_by::RowsBy;
use crate::{Report, Summary, say};
use askama::Template;
use members::Sheet;
use schedules::{CutRow, Obliged, RuleRow};
use show::Choices;
use std::io::{self, Write};
use wimble_model::{MemberIx, Verdict};

/// How pages look, on screen and on paper.
pub(crate) const STYLE: &str = include_str!("../../templates/page.css");
/// Rows of one table of cuts.
const ROWS: usize = 100;
/// What the filters do.
const SCRIPT: &str = include_str!("../../templates/page.js");

#[derive(Template)]
#[template(path = "page.html")]
struct Page<'r> {
    report: &'r Report,
    rows: &'r RowsBy,
    version: &'static str,
    sentence: String,
    tally: Vec<Count>,
    choices: Choices,
    attention: Vec<(MemberIx, Verdict)>,
    plans: Vec<Plan<'r>>,
    rules: Vec<RuleRow>,
    obliged: Vec<Obliged>,
    cautions: Vec<String>,
}

/// How many cuts came to a verdict.
struct Count {
    number: usize,
    verdict: Verdict,
    means: &'static str,
}

/// Writes the page.
///
/// # Errors
/// Those of the writer.
pub fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let rows = RowsBy::of(report);
    let attention = rows.attention(report);
    let page = Page {
        report,
        rows: &rows,
        version: env!("CARGO_PKG_VERSION"),
        sentence: Summary::sentence(report),
        tally: tally(report),
        choices: Choices::of(report, &attention),
        plans: Plan::all(report, &rows),
        rules: schedules::rules(report),
        obliged: schedules::obliged(report),
        cautions: cautions(report),
        attention,
    };
    page.write_into(out)
}

fn tally(report: &Report) -> Vec<Count> {
    let counts = Summary::of(report).verdicts;
    let all = [
        (counts.fail, Verdict::Fail, "a rule is broken"),
        (counts.refer, Verdict::Refer, "only an engineer or the maker can say"),
        (counts.unknown, Verdict::Unknown, "a fact is missing"),
        (counts.pass, Verdict::Pass, "every rule that applies holds"),
    ];
    let said = all.into_iter().filter(|(number, ..)| *number > 0);
    said.map(|(number, verdict, means)| Count { number, verdict, means }).collect()
}

impl Page<'_> {
    /// The style of the page and of its drawings.
    fn style(&self) -> String {
        format!("{STYLE}{}", drawing::style())
    }

    fn script(&self) -> &'static str {
        SCRIPT
    }

    fn hatchings(&self) -> &'static str {
        Svg::hatchings()
    }

    /// One sheet for each member that needs attention, made as the page is written.
    fn sheets(&self) -> impl Iterator<Item = Sheet> {
        self.attention
            .iter()
            .filter_map(|(ix, worst)| Sheet::of(self.report, self.rows, *ix, *worst))
    }

    fn plan(&self, plan: &Plan<'_>) -> String {
        let wants = |ix: MemberIx| {
            let worst = self.rows.worst(self.report, ix)?;
            (worst > Verdict::Pass).then(|| members::target(ix))
        };
        plan.inline(&wants)
    }

    /// The cuts in tables of so many rows, so that a browser lays out only those in sight.
    fn cut_tables(&self) -> impl Iterator<Item = Vec<CutRow>> {
        let mut rows = schedules::cuts(self.report, self.rows);
        std::iter::from_fn(move || {
            let some: Vec<CutRow> = rows.by_ref().take(ROWS).collect();
            (!some.is_empty()).then_some(some)
        })
    }

    fn warnings(&self) -> impl Iterator<Item = String> {
        self.report.warnings.iter().map(|warning| say::warning(self.report, warning))
    }

    fn plain(&self, text: &str) -> String {
        say::sentence(text)
    }
}

#[cfg(test)]
mod tests;

//! A member drawn as one line: bearings hatched, cuts as their numbers, true to its length.

use super::page::{Page, Tone};
use crate::say;
use std::io::{self, Write};
use wimble_model::{Cut, Member, Verdict};

/// Draws the strip, and under it what the outer bearings are called.
pub(super) fn write<W: Write>(
    page: &mut Page<'_, W>,
    indent: usize,
    member: &Member,
    cuts: &[(usize, &Cut)],
) -> io::Result<()> {
    let columns = page.width().saturating_sub(indent).min(84);
    if columns < 20 || !member.length_mm.is_finite() || member.length_mm <= 0.0 {
        return Ok(());
    }
    let strip = Strip { columns, length_mm: member.length_mm };
    let cells = strip.cells(member, cuts);
    let mut line = " ".repeat(indent);
    for (text, verdict) in cells {
        match verdict {
            Some(verdict) => line.push_str(&page.paint(Tone::Of(verdict), &text.to_string())),
            None => line.push(text),
        }
    }
    page.raw(&line)?;
    if let Some(names) = ends(member, columns) {
        let names = page.paint(Tone::Quiet, &names);
        page.raw(&format!("{:indent$}{names}", ""))?;
    }
    Ok(())
}

struct Strip {
    columns: usize,
    length_mm: f64,
}

impl Strip {
    fn column(&self, x_mm: f64) -> usize {
        let share = (x_mm / self.length_mm).clamp(0.0, 1.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "a share of 0 to 1 of some eighty columns"
        )]
        let column = (share * self.columns as f64) as usize;
        column.min(self.columns.saturating_sub(1))
    }

    fn cells(&self, member: &Member, cuts: &[(usize, &Cut)]) -> Vec<(char, Option<Verdict>)> {
        let mut cells = vec![('─', None); self.columns];
        for bearing in &member.bearings {
            let (from, to) = (self.column(bearing.from_mm), self.column(bearing.to_mm));
            for cell in cells.iter_mut().take(to + 1).skip(from) {
                *cell = ('▒', None);
            }
        }
        // The worst is drawn last, so that no other cut hides it.
        let mut by_verdict = cuts.to_vec();
        by_verdict.sort_by_key(|(_, cut)| cut.verdict);
        for (number, cut) in by_verdict {
            if let Some(cell) = cells.get_mut(self.column(cut.mid_x_mm())) {
                *cell = (mark(number), Some(cut.verdict));
            }
        }
        cells
    }
}

/// 1 to 9, then letters, then a plus: one column each.
pub(super) fn mark(number: usize) -> char {
    const MARKS: &[u8] = b"123456789abcdefghijklmnopqrstuvwxyz";
    number.checked_sub(1).and_then(|i| MARKS.get(i)).map_or('+', |b| char::from(*b))
}

/// The names of the outer bearings, at the left and the right.
fn ends(member: &Member, columns: usize) -> Option<String> {
    let name = |bearing: &wimble_model::Bearing| say::plain(&bearing.name);
    let first = member.bearings.first().map(name)?;
    let last = member.bearings.last().filter(|_| member.bearings.len() > 1).map(name);
    let last = last.unwrap_or_default();
    let (a, b) = (textwrap::core::display_width(&first), textwrap::core::display_width(&last));
    let gap = columns.checked_sub(a + b).filter(|gap| *gap > 2)?;
    Some(format!("{first}{:gap$}{last}", "").trim_end().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn bearings_are_hatched_and_cuts_stand_where_they_are() {
        let report = fixture::report();
        let strip = Strip { columns: 38, length_mm: 3800.0 };
        let cuts = [(1, &report.cuts[0]), (2, &report.cuts[1])];
        let line: String =
            strip.cells(&report.members[0], &cuts).into_iter().map(|(c, _)| c).collect();
        assert_eq!(line, "▒▒──────────1──────────2─────────────▒");
    }

    #[test]
    fn the_worse_of_two_cuts_in_one_column_is_seen() {
        let report = fixture::report();
        let mut near = report.cuts[1].clone();
        near.min_mm = report.cuts[0].min_mm;
        near.max_mm = report.cuts[0].max_mm;
        let strip = Strip { columns: 38, length_mm: 3800.0 };
        let cells = strip.cells(&report.members[0], &[(2, &near), (1, &report.cuts[0])]);
        assert_eq!(cells[12], ('2', Some(Verdict::Fail)));
    }

    #[test]
    fn marks_take_one_column_however_many_there_are() {
        assert_eq!((mark(1), mark(10), mark(35), mark(36)), ('1', 'a', 'z', '+'));
    }
}

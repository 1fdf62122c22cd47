//! Knock-outs: the row of small holes that an I-joist comes with from the maker.
//!
//! They are counted, not judged: a knock-out that nothing passes is no cut, and one that a service
//! passes with its clearance is a void of the member (`between-webs`), about which the maker is
//! asked.

use crate::merge::Merged;
use crate::timber::{FAVOUR_MM, Make, Timber};
use wimble_model::Note;

/// Greatest size of a knock-out, mm (`docs/practice.md`).
const GREATEST_MM: f64 = 40.0;
/// How far apart they are from centre to centre, mm.
const PITCH_MM: std::ops::RangeInclusive<f64> = 250.0..=450.0;
/// Holes this alike in size and level are of one row, mm.
const ALIKE_MM: f64 = 0.5;

/// Marks what is a knock-out as a void of the member, and drops those that nothing passes.
pub(crate) fn set_apart<'c>(timber: &Timber<'_>, cuts: Vec<Merged<'c>>) -> Vec<Merged<'c>> {
    let Make::IJoist { flange_mm, .. } = timber.make else { return cuts };
    let small: Vec<bool> = cuts.iter().map(|cut| is_small_round_hole(cut, flange_mm)).collect();
    let in_row: Vec<bool> = (0..cuts.len())
        .map(|i| {
            small[i]
                && (0..cuts.len()).any(|j| i != j && small[j] && of_one_row(&cuts[i], &cuts[j]))
        })
        .collect();
    let count = in_row.iter().filter(|is| **is).count();
    cuts.into_iter()
        .zip(in_row)
        .filter_map(|(mut cut, knock_out)| {
            if knock_out {
                if cut.shared() == 0 && cut.inside().is_empty() {
                    return None;
                }
                cut.in_void = true;
                let size = cut.bounds.size().z;
                cut.notes.push(Note::from(format!("one of {count} knock-outs of {size:.0} mm")));
            }
            Some(cut)
        })
        .collect()
}

/// An opening alone (with what passes inside it), clear of the flanges.
fn is_small_round_hole(cut: &Merged<'_>, flange_mm: f64) -> bool {
    let size = cut.bounds.size();
    cut.has_openings()
        && cut.removals.len() == 1
        && !cut.end
        && !cut.in_flange(flange_mm)
        && (size.x - size.z).abs() <= ALIKE_MM
        && size.z <= GREATEST_MM + FAVOUR_MM
}

fn of_one_row(a: &Merged<'_>, b: &Merged<'_>) -> bool {
    let apart = (a.bounds.centre() - b.bounds.centre()).abs();
    let alike = (a.bounds.size() - b.bounds.size()).abs();
    PITCH_MM.contains(&apart.x) && apart.z <= ALIKE_MM && alike.x <= ALIKE_MM && alike.z <= ALIKE_MM
}

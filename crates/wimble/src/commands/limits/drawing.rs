//! The member to scale, with the places where a cut may be.

use super::{Told, name_of, page};
use wimble_model::{Member, Section, Verdict};
use wimble_report::drawing::{Elevation, Strip, stacked};
use wimble_rules::{LimitRow, Limits};
use wimble_sheet::{Rounded, TapeUnit, print_tape};

pub(super) fn of(unit: TapeUnit, all: &[Told<'_>]) -> String {
    let elevations: Vec<Elevation<'_>> = all
        .iter()
        .map(|told| {
            let member = &told.case.member;
            Elevation {
                heading: name_of(member, unit),
                member,
                cuts: Vec::new(),
                strips: strips(member, &told.limits, unit),
            }
        })
        .collect();
    stacked(&elevations, "Where holes and notches may be")
}

/// A strip for each kind of cut that such a member usually gets.
pub(in crate::commands) fn strips(member: &Member, limits: &Limits, unit: TapeUnit) -> Vec<Strip> {
    let origin = member.spans.first().map_or(0.0, |span| span.from_mm);
    let rows = limits.rows.iter().filter(|row| row.usual);
    rows.map(|row| strip(member, row, unit, origin)).collect()
}

fn strip(member: &Member, row: &LimitRow, unit: TapeUnit, origin: f64) -> Strip {
    let kind = page::kind(row);
    let mut title = match (row.verdict, row.greatest_mm) {
        (Verdict::Fail, _) => format!("{kind}: none"),
        (_, Some(mm)) => format!("{kind} up to {}", print_tape(mm, unit, Rounded::Down)),
        (_, None) => kind,
    };
    if matches!(row.verdict, Verdict::Refer | Verdict::Unknown) {
        title = format!("{title}: at best {}", row.verdict.word());
        if matches!(member.section, Section::IJoist { .. }) && row.verdict == Verdict::Refer {
            title.push_str(", the maker's hole table decides where");
        }
    }
    if let Some(level) = row.level_mm.filter(|_| row.verdict != Verdict::Fail) {
        let level = print_tape(level, unit, Rounded::Down);
        title = format!("{title}, its middle within {level} of mid-depth");
    }
    let bands = row.centre_zones_mm.as_ref().unwrap_or(&row.zones_mm);
    if row.centre_zones_mm.is_some() {
        title = format!("{title} (places of its middle)");
    }
    let windows = if row.verdict == Verdict::Fail {
        Vec::new()
    } else {
        bands.iter().map(|[from, to]| [from + origin, to + origin]).collect()
    };
    Strip { title, windows, nowhere: "nowhere".to_owned() }
}

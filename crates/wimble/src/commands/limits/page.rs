//! The limits of one member for a person.

use super::member::Asked;
use super::{Told, name_of, table};
use wimble_model::Verdict;
use wimble_rules::{LimitRow, PipeFit, SpacingRow};
use wimble_sheet::{Rounded, TapeUnit, bare_tape, print_tape};

pub(super) fn of(asked: &Asked, told: &Told<'_>, width: usize) -> String {
    let unit = asked.unit;
    let mut text = format!("{}\n\n", name_of(&told.case.member, unit));
    let span = told.span_mm();
    let upright = told.case.member.kind == wimble_model::MemberKind::Stud;
    let (main, rest): (Vec<&LimitRow>, Vec<&LimitRow>) =
        told.limits.rows.iter().partition(|row| row.usual || tells(row));
    let face = match from_either(&main, span) {
        true if upright => "where, from either end",
        true => "where, from either face",
        false if upright => "where, from the bottom",
        false => "where, from the left face",
    };
    let mut rows = vec![head(["cut", "at best", face, "greatest", ""])];
    for row in &main {
        rows.push(vec![
            kind(row),
            row.verdict.word().to_owned(),
            places(row, span, unit),
            greatest(row, unit),
            besides(row, unit),
        ]);
    }
    text.push_str(&table::text(2, &rows, width));
    if main.iter().any(|row| !row.rules.is_empty()) {
        text.push_str("\nSet by\n");
        let rules = main.iter().filter(|row| !row.rules.is_empty());
        let rules = rules.map(|row| vec![kind(row), row.rules.join(" ")]);
        text.push_str(&table::text(2, &rules.collect::<Vec<_>>(), width));
    }
    let mut usual = told.limits.rows.iter().filter(|row| row.usual);
    if usual.all(|row| row.verdict != Verdict::Pass) {
        text.push_str("\nNo cut of this member passes by the rules in force.\n");
    }
    if !rest.is_empty() {
        text.push_str("\nAny other cut\n");
        text.push_str(&table::text(2, &others(&rest), width));
    }
    let between = besides_each_other(told, unit);
    if !between.is_empty() {
        text.push_str("\nBesides\n");
        text.push_str(&table::text(2, &between, width));
    }
    text.push_str("\nWhat fits, each with its clearance\n");
    text.push_str(&table::text(2, &pipes(&told.limits.pipes, unit), width));
    text.push_str(&closing(asked, &told.limits.outside, width));
    text
}

/// Whether a row of a rarer kind of cut has figures that somebody can work by.
fn tells(row: &LimitRow) -> bool {
    let figure = row.greatest_mm.is_some() || row.greatest_length_mm.is_some();
    figure && row.verdict != Verdict::Fail
}

/// The kinds of cut without figures of their own, those of one verdict and one rule together.
fn others(rows: &[&LimitRow]) -> Vec<Vec<String>> {
    let mut said: Vec<(Verdict, String, Vec<String>)> = Vec::new();
    for row in rows {
        let rules = row.rules.join(" ");
        // A joint of which nothing is said.
        if row.verdict == Verdict::Pass && rules.is_empty() {
            continue;
        }
        match said.iter_mut().find(|(verdict, by, _)| *verdict == row.verdict && *by == rules) {
            Some((_, _, kinds)) if kinds.contains(&row.name) => {}
            Some((_, _, kinds)) => kinds.push(row.name.clone()),
            None => said.push((row.verdict, rules, vec![row.name.clone()])),
        }
    }
    said.sort_by_key(|(verdict, ..)| std::cmp::Reverse(*verdict));
    said.into_iter()
        .map(|(verdict, rules, kinds)| {
            let by = if rules.is_empty() { String::new() } else { format!(" ({rules})") };
            vec![verdict.word().to_owned(), format!("{}{by}", kinds.join(", "))]
        })
        .collect()
}

/// What the rules ask of neighbours, of numbers, and what has to be done with a cut.
fn besides_each_other(told: &Told<'_>, unit: TapeUnit) -> Vec<Vec<String>> {
    let limits = &told.limits;
    let tape = |mm: f64, rounded: Rounded| print_tape(mm, unit, rounded);
    let mut rows = Vec::new();
    for row in limits.spacing.iter().filter(|row| row.otherwise != "note") {
        // What is always judged need not be said beside a pack that says it with more.
        let more = |other: &&SpacingRow| {
            other.rule != row.rule
                && (&other.cut, &other.beside, other.measure)
                    == (&row.cut, &row.beside, row.measure)
                && other.at_least_mm >= row.at_least_mm
                && other.same_half.is_some()
        };
        if row.same_half.is_none() && limits.spacing.iter().any(|other| more(&other)) {
            continue;
        }
        let mut least = Vec::new();
        if row.at_least_mm > 0.0 || row.times_larger == 0.0 {
            least.push(tape(row.at_least_mm, Rounded::Up));
        }
        if row.times_larger > 0.0 {
            least.push(format!("{} times the larger diameter", row.times_larger));
        }
        let how = match row.measure {
            "centres" => "centre to centre",
            "gap-x" => "from edge to edge along the member",
            _ => "clear",
        };
        let half = row.same_half.map_or_else(String::new, |word| {
            format!("; further apart in the same half of the span: {word}")
        });
        let beside = if row.beside.is_empty() { &row.cut } else { &row.beside };
        rows.push(vec![
            format!("{} to {}", words(&row.cut), words(beside)),
            format!("{}, {how}, else {}{half} ({})", least.join(" and "), row.otherwise, row.rule),
        ]);
    }
    for row in limits.counts.iter().filter(|row| row.otherwise != "note") {
        let from = match row.from_mm {
            mm if mm > 0.0 => format!(" of {} and more", tape(mm, Rounded::Down)),
            _ => String::new(),
        };
        let most =
            format!("at most {} in a span, else {} ({})", row.at_most, row.otherwise, row.rule);
        rows.push(vec![format!("{}{from}", words(&row.of)), most]);
    }
    for row in &limits.duties {
        let when = if row.when.is_empty() { String::new() } else { format!("{}: ", row.when) };
        let what = match row.of {
            "cover" => "of wood to the nearer of top and bottom",
            "side-cover" => "of wood to the nearer side",
            "left-depth" => "of the depth left",
            _ => "of the breadth left",
        };
        rows.push(vec![
            row.obligation.short().to_owned(),
            format!(
                "{when}with less than {} {what} ({})",
                tape(row.below_mm, Rounded::Up),
                row.rule
            ),
        ]);
    }
    rows
}

/// Kinds of cut in the report's words, for a person.
fn words(kinds: &[&str]) -> String {
    kinds.iter().map(|word| word.replace('-', " ")).collect::<Vec<_>>().join(" or ")
}

/// A row as one sentence: `hole: 900-1440 from either face, 55 mm at most (uk-solid-joist/hole-size)`.
pub(crate) fn sentence(row: &LimitRow, span_mm: Option<f64>) -> String {
    let unit = TapeUnit::Mm;
    if row.verdict == Verdict::Fail {
        return format!("{}: none ({})", kind(row), row.rules.join(" "));
    }
    let face = if from_either(&[row], span_mm) { "either" } else { "the left" };
    let mut said = format!("{}: {} mm from {face} face", kind(row), places(row, span_mm, unit));
    if row.greatest_mm.is_some() {
        said.push_str(&format!(", {} at most", greatest(row, unit)));
    }
    let more = besides(row, unit);
    if !more.is_empty() {
        said.push_str(&format!(", {more}"));
    }
    if row.verdict != Verdict::Pass {
        said.push_str(&format!(", at best {}", row.verdict.word()));
    }
    format!("{said} ({})", row.rules.join(" "))
}

fn head<const N: usize>(cells: [&str; N]) -> Vec<String> {
    cells.map(str::to_owned).to_vec()
}

/// `top notch (inner)`.
pub(super) fn kind(row: &LimitRow) -> String {
    row.option.as_ref().map_or_else(|| row.name.clone(), |o| format!("{} ({o})", row.name))
}

/// Where the whole cut may lie, or its middle where a rule measures to the middle. Places that are
/// the same from both faces are said once.
pub(super) fn places(row: &LimitRow, span_mm: Option<f64>, unit: TapeUnit) -> String {
    let all = row.centre_zones_mm.as_ref().unwrap_or(&row.zones_mm);
    // A joint is cut over its bearing.
    if row.cut == "joinery" && matches!(all.as_slice(), [_]) {
        return "anywhere".to_owned();
    }
    let said: Vec<String> = one_half(all, span_mm)
        .iter()
        .map(|[from, to]| {
            let (from, to) =
                (bare_tape(*from, unit, Rounded::Up), bare_tape(*to, unit, Rounded::Down));
            let between = if unit == TapeUnit::Inch { " to " } else { "-" };
            format!("{from}{between}{to}")
        })
        .collect();
    match (said.as_slice(), row.centre_zones_mm.is_some()) {
        ([], _) => "nowhere".to_owned(),
        (_, true) => format!("middle at {}", said.join(", ")),
        (_, false) => said.join(", "),
    }
}

/// The bands of the left half, if those of the right half are the same seen from the right face.
fn one_half(bands: &[[f64; 2]], span_mm: Option<f64>) -> &[[f64; 2]] {
    let Some(span) = span_mm else { return bands };
    let half = bands.len() / 2;
    let mirrored = bands.len().is_multiple_of(2)
        && bands.iter().zip(bands.iter().rev()).all(|([from, to], [other, end])| {
            (span - to - other).abs() < 0.01 && (span - from - end).abs() < 0.01
        });
    if mirrored { bands.get(..half).unwrap_or(bands) } else { bands }
}

/// Whether every row is said from either face.
pub(super) fn from_either(rows: &[&LimitRow], span_mm: Option<f64>) -> bool {
    rows.iter().all(|row| {
        let bands = row.centre_zones_mm.as_ref().unwrap_or(&row.zones_mm);
        bands.is_empty()
            || row.cut == "joinery"
            || one_half(bands, span_mm).len() < bands.len()
            || whole(bands, span_mm)
    })
}

/// Everywhere in the span.
fn whole(bands: &[[f64; 2]], span_mm: Option<f64>) -> bool {
    matches!(bands, [[from, to]] if span_mm.is_some_and(|s| (s - to - from).abs() < 0.01))
}

pub(super) fn greatest(row: &LimitRow, unit: TapeUnit) -> String {
    match (row.greatest_mm, row.verdict) {
        (Some(mm), _) if mm > 0.0 => print_tape(mm, unit, Rounded::Down),
        (None, Verdict::Fail) | (Some(_), _) => "none".to_owned(),
        (None, _) => "-".to_owned(),
    }
}

/// Length and level.
fn besides(row: &LimitRow, unit: TapeUnit) -> String {
    let mut said = Vec::new();
    if let Some(mm) = row.greatest_length_mm {
        said.push(format!("at most {} long", print_tape(mm, unit, Rounded::Down)));
    }
    if let Some(mm) = row.level_mm {
        said.push(format!("middle within {} of mid-depth", print_tape(mm, unit, Rounded::Down)));
    }
    said.join(", ")
}

/// Pipes with what becomes of them; those of one make together.
fn pipes(fits: &[PipeFit], unit: TapeUnit) -> Vec<Vec<String>> {
    let notches = fits.iter().any(|fit| fit.notch.is_some());
    let mut rows = vec![head(["pipe", "outside", "hole", "as a hole"])];
    if notches {
        rows[0].push("in a top notch".to_owned());
    }
    // Pipes are sold by the millimetre or by the inch; the JSON has them all.
    let inch = |fit: &&PipeFit| fit.pipe.name.ends_with("in");
    for fit in fits.iter().filter(|fit| inch(fit) == (unit == TapeUnit::Inch)) {
        let mut row = vec![
            format!("{} {}", fit.pipe.system, fit.pipe.name),
            print_tape(fit.pipe.outside_mm, unit, Rounded::Nearest),
            print_tape(fit.hole_mm, unit, Rounded::Up),
            fit.hole.word().to_owned(),
        ];
        if let Some(notch) = fit.notch {
            row.push(notch.word().to_owned());
        }
        rows.push(row);
    }
    rows
}

/// What the figures rest on.
pub(super) fn closing(asked: &Asked, outside: &[String], width: usize) -> String {
    let mut text = String::new();
    if !outside.is_empty() {
        text.push_str("\nOutside the rules' scope\n");
        let rows: Vec<Vec<String>> = outside.iter().map(|said| vec![said.clone()]).collect();
        text.push_str(&table::text(2, &rows, width));
    }
    text.push('\n');
    let mut said = asked.assumptions.clone();
    said.push("Joist size for its span: not checked. refer and unknown are not permission.".into());
    said.push("Checks geometry against published rules. Not a structural design.".into());
    for line in said {
        for part in table::wrapped(&line, width) {
            text.push_str(&part);
            text.push('\n');
        }
    }
    text
}

//! What is left: where there is room in members after all their cuts, and what is kept for a trade.

use crate::{Reserve, Settings, site_facts};
use rayon::prelude::*;
use std::io::{self, Write};
use std::sync::Arc;
use wimble_model::{
    Cut, Few, Finding, FreeWindows, Level, MemberIx, MemberKind, ServiceIx, Verdict,
};
use wimble_recognise::{Scene, is_like};
use wimble_report::Report;
use wimble_rules::{PackSet, RuleSettings};

/// The hole for a 22 mm pipe with 5 mm of clearance: what most heating and water needs.
const USUAL_MM: f64 = 27.0;

/// The reserves of the settings as they concern a building.
pub(crate) fn reserves(scene: &Scene, settings: &Settings) -> Vec<wimble_remedies::Reserve> {
    let of = |reserve: &Reserve| wimble_remedies::Reserve {
        members: (0..scene.members.len())
            .map(MemberIx::from)
            .filter(|ix| concerns(scene, reserve, *ix))
            .collect(),
        services: scene
            .services
            .iter()
            .enumerate()
            .filter(|(_, service)| site_facts::is(reserve.trade, service))
            .map(|(n, _)| ServiceIx::from(n))
            .collect(),
        size_mm: reserve.size_mm,
    };
    settings.reserves.iter().map(of).collect()
}

/// Members that carry a floor, a roof or a wall: what lies on or between them keeps nothing.
fn concerns(scene: &Scene, reserve: &Reserve, ix: MemberIx) -> bool {
    let Some(member) = scene.members.get(ix.at()) else { return false };
    let storey = member.storey.and_then(|n| scene.storeys.get(n as usize));
    let like = |pattern: &Option<String>, text: Option<&str>| {
        pattern.as_deref().is_none_or(|pattern| is_like(pattern, text.unwrap_or_default()))
    };
    !matches!(member.kind, MemberKind::Packing | MemberKind::Blocking)
        && like(&reserve.member, member.element.name.as_deref())
        && like(&reserve.storey, storey.map(|s| s.name.as_str()))
}

/// The windows that are asked for, and a note for each member that has no place left for what it
/// should keep.
pub(crate) fn windows(
    scene: &Scene,
    cuts: &[Cut],
    packs: &PackSet,
    rules: &RuleSettings,
    settings: &Settings,
) -> (Vec<FreeWindows>, Vec<Finding>) {
    let mut asked: Vec<(MemberIx, Option<&Reserve>, f64)> = Vec::new();
    for ix in (0..scene.members.len()).map(MemberIx::from) {
        if settings.free {
            asked.push((ix, None, USUAL_MM));
        }
        let kept = settings.reserves.iter().filter(|reserve| concerns(scene, reserve, ix));
        asked.extend(kept.map(|reserve| (ix, Some(reserve), reserve.size_mm)));
    }
    if asked.is_empty() {
        return (Vec::new(), Vec::new());
    }
    let mut starts = vec![0; scene.members.len() + 1];
    for cut in cuts {
        if let Some(start) = starts.get_mut(cut.member.at() + 1) {
            *start += 1;
        }
    }
    let mut sum = 0;
    for start in &mut starts {
        sum += *start;
        *start = sum;
    }
    let of = |ix: MemberIx| match starts.get(ix.at()..ix.at() + 2) {
        Some(&[from, to]) => cuts.get(from..to).unwrap_or_default(),
        _ => &[],
    };
    let found: Vec<FreeWindows> = asked
        .par_iter()
        .map(|&(member, reserve, size_mm)| FreeWindows {
            member,
            kept_for: reserve.map(|r| r.word.clone()),
            size_mm,
            windows_mm: wimble_remedies::free(scene, member, size_mm, of(member), packs, rules),
        })
        .collect();
    let notes = found.iter().filter(|f| f.windows_mm.is_empty()).filter_map(note).collect();
    (found, notes)
}

fn note(free: &FreeWindows) -> Option<Finding> {
    let kept = free.kept_for.as_ref()?;
    Some(Finding {
        rule: "practice/reserve".into(),
        level: Level::Note,
        verdict: Verdict::Pass,
        member: free.member,
        cuts: Few::new(),
        services: Few::new(),
        measured: None,
        limit: None,
        message: format!(
            "No place is left for the {} mm hole that is to be kept for {kept}: the rules in force \
             and the cuts that are there allow it nowhere.",
            free.size_mm
        )
        .into(),
        source: "What the settings reserve (our own reading)".into(),
        waived: None,
        remedies: Arc::default(),
    })
}

/// The same as text: a line for each member.
pub(crate) fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "\nRoom left, the whole hole at mid-depth, along each member:")?;
    for free in &report.free {
        let Some(member) = report.members.get(free.member.at()) else { continue };
        let name = member.element.name.as_deref().unwrap_or(&member.element.guid);
        // Names come from the model: nothing in them moves the cursor.
        let name: String = name.chars().filter(|c| !c.is_control()).collect();
        let places: Vec<String> =
            free.windows_mm.iter().map(|[from, to]| format!("{from:.0} to {to:.0}")).collect();
        let places = if places.is_empty() { "none".to_owned() } else { places.join(", ") };
        let kept = free.kept_for.as_ref().map_or_else(String::new, |k| format!(" for {k}"));
        writeln!(out, "{name}: {} mm hole{kept}: {places}", free.size_mm)?;
    }
    Ok(())
}

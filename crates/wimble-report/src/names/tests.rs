use super::*;
use crate::fixture;
use std::collections::BTreeSet;

#[test]
fn an_id_is_the_global_id_and_repeated_ones_are_numbered() {
    let names = Names::of(&fixture::report());
    assert_eq!(names.members[0], "1aJoist");
    assert_eq!(names.services[1..3], ["6pPipe~1", "6pPipe~2"]);
}

#[test]
fn repeated_ids_are_numbered_by_file_item_and_centre_not_by_order() {
    let mut report = fixture::report();
    report.service_centres_m.swap(1, 2);
    assert_eq!(Names::of(&report).services[1..3], ["6pPipe~2", "6pPipe~1"]);
}

#[test]
fn an_empty_global_id_is_numbered_even_when_alone() {
    let mut report = fixture::report();
    report.members[2].element.guid.clear();
    assert_eq!(Names::of(&report).members[2], "~1");
}

#[test]
fn a_void_found_in_a_body_leaves_its_host_the_plain_id() {
    let mut report = fixture::report();
    report.openings[0].element.guid = "1aJoist".into();
    let names = Names::of(&report);
    assert_eq!((names.members[0].as_str(), names.openings[0].as_str()), ("1aJoist", "1aJoist"));
}

#[test]
fn cut_ids_differ_and_do_not_move_with_the_cut() {
    let report = fixture::report();
    let before = Names::of(&report).cuts;
    let distinct: BTreeSet<_> = before.iter().collect();
    assert_eq!(distinct.len(), report.cuts.len());
    let mut moved = report;
    moved.cuts[0].min_mm.x += 40.0;
    assert_eq!(Names::of(&moved).cuts, before);
}

#[test]
fn equal_cuts_of_a_member_are_told_apart_along_x() {
    let mut report = fixture::report();
    let mut second = report.cuts[0].clone();
    second.min_mm.x += 500.0;
    report.cuts.insert(1, second);
    let names = Names::of(&report);
    assert_ne!(names.cuts[0], names.cuts[1]);
}

#[test]
fn a_fingerprint_outlives_new_figures_and_a_new_verdict() {
    let report = fixture::report();
    let before = Names::of(&report).fingerprints;
    let mut changed = report;
    for finding in &mut changed.findings {
        finding.verdict = wimble_model::Verdict::Refer;
        finding.message = "said otherwise".into();
        finding.measured = None;
    }
    assert_eq!(Names::of(&changed).fingerprints, before);
}

#[test]
fn members_that_share_a_global_id_share_their_ordinals() {
    let mut report = fixture::report();
    let (first, mut second) = (report.findings[0].clone(), report.findings[0].clone());
    second.member = MemberIx(first.member.0 + 1);
    let guid = report.members[first.member.at()].element.guid.clone();
    report.members[second.member.at()].element.guid = guid;
    report.findings = vec![first, second];
    let prints = Names::of(&report).fingerprints;
    assert_ne!(prints[0], prints[1]);
}

#[test]
fn fingerprints_do_not_depend_on_the_order_of_findings() {
    let mut report = fixture::report();
    let before = Names::of(&report).fingerprints;
    report.findings.reverse();
    let mut after = Names::of(&report).fingerprints;
    after.reverse();
    assert_eq!(after, before);
}

fn places(report: &Report) -> Vec<String> {
    let names = Names::of(report);
    report.findings.iter().map(|finding| names.place(report, finding)).collect()
}

#[test]
fn a_place_outlives_new_global_ids_and_a_moved_building() {
    let report = fixture::report();
    let before = places(&report);
    let mut other = report;
    for member in &mut other.members {
        member.element.guid.push('X');
        member.frame.origin_m += DVec3::new(1000.0, -2000.0, 10.0);
    }
    assert_eq!(places(&other), before);
    assert_eq!(before[0], "IfcBeam 47x220x3800 at 2350,20,110");
}

#[test]
fn what_is_said_once_of_several_members_is_placed_in_the_middle_of_all_their_cuts() {
    let mut report = fixture::report();
    // Cuts at one place along two joists that lie 400 apart.
    report.findings[0].cuts = [CutIx(0), CutIx(3)].into_iter().collect();
    assert_eq!(places(&report)[0], "IfcBeam 47x220x3800 at 1210,220,110");
}

/// A few cuts of a member are counted one by one, many by a table: the same ordinals.
#[test]
fn cut_ids_do_not_depend_on_how_many_cuts_the_member_has() {
    let ids = |cuts: usize| {
        let mut report = fixture::report();
        let cut = report.cuts[0].clone();
        report.cuts.splice(0..1, std::iter::repeat_n(cut, cuts));
        Names::of(&report).cuts[..cuts].to_vec()
    };
    let (few, many) = (ids(16), ids(50));
    assert_eq!(few, many[..16]);
    assert_eq!(many.iter().collect::<BTreeSet<_>>().len(), 50);
}

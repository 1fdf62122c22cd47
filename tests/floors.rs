//! Random floors, written in every combination of unit, schema, representation, nesting, rotation,
//! offset and files, must give the cuts and verdicts that closed forms give.
//!
//! `WIMBLE_FLOORS=500` runs as many; 60 by default. A floor that differs can be looked at:
//! `cargo run -p wimble-dev -- floors 17`.

#[expect(dead_code, reason = "each test uses its own part of it")]
#[cfg(test)]
mod support;

#[path = "floors/hair.rs"]
mod hair;

use support::report::{Cut, Report, check};
use wimble_dev::floors::{ExpectedCut, Floor, Random, Style, expect, floor, write};

/// How far figures may lie apart, mm.
const NEAR: f64 = 0.1;

#[test]
fn floors_agree_with_closed_forms() {
    let floors = support::shared::floors_wanted();
    let (mut agreed, mut cuts, mut wrong) = (0, 0, Vec::new());
    for number in 0..floors {
        let mut random = Random::new(number as u64);
        let floor = floor(&mut random);
        let style = Style::nth(number, &mut random);
        let expected = expect(&floor).expect("drawn so that it is");
        let report = check(&write(&floor, &style), &settings(&floor));
        let differences = compare(&floor, &style, &expected, &report);
        if differences.is_empty() {
            agreed += 1;
            cuts += expected.len();
        } else {
            wrong.push(format!("floor {number}: {}\n{style:?}", differences.join("\n    ")));
        }
    }
    println!("{agreed} of {floors} floors agree, {cuts} cuts");
    let shown: Vec<String> = wrong.iter().take(8).cloned().collect();
    assert!(wrong.is_empty(), "{agreed} of {floors} floors agree\n{}", shown.join("\n\n"));
}

fn settings(floor: &Floor) -> String {
    format!(
        "[rules]\npacks = [\"uk-solid-joist\"]\n[cut]\nclearance = \"{} mm\"\n",
        floor.clearance
    )
}

/// What differs between the report and what is expected, in words.
fn compare(floor: &Floor, style: &Style, expected: &[ExpectedCut], report: &Report) -> Vec<String> {
    let mut wrong = Vec::new();
    let length = floor.ends[1] - floor.ends[0];
    // x runs along k = (0.935, 0.353, 0.05), whichever way the joists were drawn.
    let north = style.world.matrix3.y_axis;
    let turned = north.x * 0.935 + north.y * 0.353 + north.z * 0.05 < 0.0;
    for joist in 0..floor.joists.len() {
        let name = Floor::joist_name(joist);
        let Some(member) = report.member(&name) else {
            wrong.push(format!("{name} is no member"));
            continue;
        };
        let same = member.kind == "joist"
            && member.role.is_none()
            && near(member.length, length)
            && near(member.size[0], floor.breadth)
            && near(member.size[1], floor.depth)
            && spans(floor, turned).len() == member.spans.len()
            && spans(floor, turned).iter().zip(&member.spans).all(|(a, b)| near(*a, *b));
        if !same {
            wrong.push(format!(
                "{name}: length {length}, {} x {}, spans {:?}: {member:?}",
                floor.breadth,
                floor.depth,
                spans(floor, turned)
            ));
        }
        let mut left: Vec<&Cut> = report.cuts_of(&name).collect();
        for cut in expected.iter().filter(|cut| cut.joist == joist) {
            let found = left.iter().position(|actual| actual.services == cut.services);
            match found.map(|at| left.remove(at)) {
                None => {
                    wrong.push(format!("{name}: no cut of {:?}; expected {cut:?}", cut.services));
                }
                Some(actual) => {
                    if let Some(difference) = differs(cut, actual, turned.then_some(length)) {
                        wrong.push(format!(
                            "{name}: {difference}\n      expected {cut:?}\n      is {actual:?}"
                        ));
                    }
                }
            }
        }
        for cut in left {
            wrong.push(format!("{name}: a cut too many: {cut:?}"));
        }
    }
    if report.members.len() != floor.joists.len() {
        wrong.push(format!("{} members for {} joists", report.members.len(), floor.joists.len()));
    }
    wrong
}

fn spans(floor: &Floor, turned: bool) -> Vec<f64> {
    let mut spans: Vec<f64> = floor.walls.windows(2).map(|pair| pair[1][0] - pair[0][1]).collect();
    if turned {
        spans.reverse();
    }
    spans
}

/// The first difference; `turned` gives the length where x runs southwards.
fn differs(expected: &ExpectedCut, actual: &Cut, turned: Option<f64>) -> Option<String> {
    let (mut min, mut max) = (expected.min.to_array(), expected.max.to_array());
    if let Some(length) = turned {
        (min[0], max[0]) = (length - max[0], length - min[0]);
        (min[1], max[1]) = (-max[1], -min[1]);
    }
    if actual.kind != expected.kind || actual.edge != expected.edge {
        return Some(format!(
            "{} {} is {} {}",
            expected.kind, expected.edge, actual.kind, actual.edge
        ));
    }
    for axis in 0..3 {
        if !near(min[axis], actual.min[axis]) || !near(max[axis], actual.max[axis]) {
            return Some(format!(
                "{} {:.3}..{:.3} is {:.3}..{:.3}",
                ["x", "y", "z"][axis],
                min[axis],
                max[axis],
                actual.min[axis],
                actual.max[axis]
            ));
        }
    }
    if expected.bit.is_some_and(|bit| !near(bit, actual.bit)) {
        return Some(format!("bit {:?} is {}", expected.bit, actual.bit));
    }
    let from = match (expected.from_bearing, actual.from_bearing) {
        (Some(a), Some(b)) => near(a, b),
        (a, b) => a == b,
    };
    if !from {
        return Some(format!(
            "{:?} from the bearing is {:?}",
            expected.from_bearing, actual.from_bearing
        ));
    }
    (expected.verdict != actual.verdict).then(|| {
        let said: Vec<String> = actual
            .findings
            .iter()
            .map(|f| format!("{} {}: {}", f.verdict, f.rule, f.message))
            .collect();
        format!("verdict {} is {}: {}", expected.verdict, actual.verdict, said.join("; "))
    })
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= NEAR
}

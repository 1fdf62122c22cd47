use super::*;
use crate::{Report, fixture};
use glam::DVec3;
use serde_json::Value;
use wimble_model::{
    Action, Besides, Bound, CutIx, CutPlaces, Limit, Measured, MemberIx, Note, OpeningIx, Remedy,
    Section, Seldom, ServiceIx, ServiceShape, Unit,
};

fn text(report: &Report) -> String {
    let mut out = Vec::new();
    write(report, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

fn value(report: &Report) -> Value {
    serde_json::from_str(&text(report)).unwrap()
}

fn faults(value: &Value) -> Vec<String> {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    validator.iter_errors(value).map(|e| format!("{} at {}", e, e.instance_path())).collect()
}

#[test]
fn the_report_is_valid_against_its_schema() {
    assert_eq!(faults(&value(&fixture::report())), Vec::<String>::new());
    assert_eq!(faults(&value(&Report::default())), Vec::<String>::new());
}

#[test]
fn the_schema_refuses_what_is_not_the_contract() {
    let good = value(&fixture::report());
    let spoilt = |pointer: &str, with: Value| {
        let mut bad = good.clone();
        *bad.pointer_mut(pointer).unwrap_or_else(|| panic!("no {pointer}")) = with;
        !faults(&bad).is_empty()
    };
    assert!(spoilt("/schema", "wimble-report/2".into()), "another version");
    assert!(spoilt("/cuts/0/verdict", "ok".into()), "a verdict of another word");
    assert!(spoilt("/cuts/0/kind", "drilling".into()), "a kind of another word");
    assert!(spoilt("/cuts/0/id", "c12".into()), "a short id");
    assert!(spoilt("/members/0/section/shape", "square".into()), "a shape of another word");
    assert!(spoilt("/members/0/length_mm", "3800".into()), "a figure as text");
    assert!(spoilt("/services/3/shape", serde_json::json!({ "oval_mm": 3 })), "a shape unknown");
    assert!(spoilt("/findings/0/remedies/0/action", "hope".into()), "an action unknown");
    assert!(spoilt("/summary/cuts", Value::Null), "a count missing");
    assert!(spoilt("/inputs/0", serde_json::json!({ "path": "a.ifc" })), "keys missing");
}

/// Every key is present: taking any one away from any row must be refused.
#[test]
fn the_schema_wants_every_key() {
    let good = value(&fixture::report());
    let rows = [
        "",
        "/tool",
        "/inputs/0",
        "/packs/0",
        "/members/0",
        "/members/0/section",
        "/members/0/frame",
        "/members/0/bearings/0",
        "/members/0/spans/0",
        "/services/0",
        "/openings/0",
        "/cuts/0",
        "/cuts/0/obligations/0",
        "/findings/0",
        "/findings/0/measured",
        "/findings/0/limit",
        "/findings/0/remedies/0",
        "/coverage/0",
        "/warnings/0",
        "/summary",
        "/summary/verdicts",
    ];
    for row in rows {
        let keys: Vec<String> =
            good.pointer(row).unwrap().as_object().unwrap().keys().cloned().collect();
        for key in keys {
            let mut bad = good.clone();
            bad.pointer_mut(row).unwrap().as_object_mut().unwrap().remove(&key);
            assert!(!faults(&bad).is_empty(), "{row} without {key} was accepted");
        }
    }
}

#[test]
fn the_summary_comes_last_and_each_row_is_a_line() {
    let text = text(&fixture::report());
    let last = text.trim_end().lines().rev().nth(1).unwrap();
    assert!(last.starts_with("\"summary\": "), "{last}");
    assert!(text.lines().any(|line| line.starts_with("{\"id\":\"1aJoist\"")));
}

#[test]
fn what_is_written_reads_back_as_the_same_rows() {
    let text = text(&fixture::report());
    let document: Document<'_> = serde_json::from_str(&text).unwrap();
    assert_eq!(document.cuts.len(), 6);
    assert_eq!(document.summary.verdicts.fail, 2);
    let again: Value = serde_json::to_value(&document).unwrap();
    assert_eq!(again, value(&fixture::report()));
}

#[test]
fn rows_refer_to_each_other_by_ids_that_exist() {
    let value = value(&fixture::report());
    let ids = |list: &str, key: &str| -> Vec<String> {
        let rows = value[list].as_array().unwrap();
        rows.iter().map(|row| row[key].as_str().unwrap().into()).collect()
    };
    let (members, services) = (ids("members", "id"), ids("services", "id"));
    let (cuts, prints) = (ids("cuts", "id"), ids("findings", "fingerprint"));
    let among = |list: &[String], value: &Value| list.iter().any(|id| value == id);
    for cut in value["cuts"].as_array().unwrap() {
        assert!(among(&members, &cut["member"]));
        assert!(cut["services"].as_array().unwrap().iter().all(|s| among(&services, s)));
        assert!(cut["findings"].as_array().unwrap().iter().all(|f| among(&prints, f)));
    }
    for finding in value["findings"].as_array().unwrap() {
        assert!(among(&members, &finding["member"]));
        assert!(finding["cuts"].as_array().unwrap().iter().all(|c| among(&cuts, c)));
    }
}

#[test]
fn findings_come_by_member_then_worst_verdict_then_rule() {
    let value = value(&fixture::report());
    let order: Vec<_> = value["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| (f["member"].as_str().unwrap(), f["verdict"].as_str().unwrap()))
        .collect();
    assert_eq!(
        order,
        [
            ("1aJoist", "fail"),
            ("2bJoist", "fail"),
            ("2bJoist", "pass"),
            ("3cJoist", "refer"),
            ("4dJoist", "unknown")
        ]
    );
}

#[test]
fn a_figure_that_is_not_a_number_prints_null_and_the_reason_is_a_warning() {
    let mut report = fixture::report();
    report.cuts[0].bit_mm = f64::NAN;
    let value = value(&report);
    assert!(value["cuts"][0]["bit_mm"].is_null());
    let last = value["warnings"].as_array().unwrap().last().unwrap();
    assert!(last["text"].as_str().unwrap().contains("IfcBeam 1aJoist"), "{last}");
}

#[test]
fn a_failing_writer_keeps_its_kind_of_error() {
    struct Closed;
    impl std::io::Write for Closed {
        fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
            Err(std::io::ErrorKind::BrokenPipe.into())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }
    assert_eq!(
        write(&fixture::report(), &mut Closed).unwrap_err().kind(),
        std::io::ErrorKind::BrokenPipe
    );
}

#[test]
fn many_blocks_are_written_in_order_by_any_number_of_threads_and_from_within_them() {
    let mut report = fixture::report();
    let last = report.cuts.last().cloned().unwrap();
    report.cuts.extend(std::iter::repeat_n(last, 9000));
    let text = |report: &crate::Report| {
        let mut out = Vec::new();
        crate::json::write(report, &mut out).unwrap();
        out
    };
    let outside = text(&report);
    assert_eq!(String::from_utf8_lossy(&outside).matches("\n{\"id\":\"c").count(), 9006);
    for threads in [1, 2, 3] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        assert!(pool.install(|| text(&report)) == outside, "{threads}");
    }
}

/// Each row of a list as it stands in the text is what `serde_json` makes of it when it is read back:
/// the same keys in the same order, the same figures, the same texts.
#[track_caller]
fn rows_are_those_of_the_library(report: &Report) {
    fn told<T: serde::Serialize>(rows: &[T]) -> impl Iterator<Item = String> {
        rows.iter().map(|row| serde_json::to_string(row).unwrap())
    }
    let text = text(report);
    let document: Document<'_> = serde_json::from_str(&text).unwrap();
    let expected: Vec<String> = told(&document.members)
        .chain(told(&document.services))
        .chain(told(&document.openings))
        .chain(told(&document.cuts))
        .chain(told(&document.findings))
        .chain(told(&document.plans))
        .chain(told(&document.free))
        .collect();
    let (from, to) = (text.find("\"members\": ["), text.find("\"coverage\": ["));
    let lines = text[from.unwrap()..to.unwrap()].lines().filter(|line| line.starts_with('{'));
    let written: Vec<&str> = lines.map(|line| line.trim_end_matches(',')).collect();
    assert_eq!(written, expected);
}

#[test]
fn the_bytes_of_rows_are_those_of_the_library() {
    rows_are_those_of_the_library(&fixture::report());
    rows_are_those_of_the_library(&with_everything());
}

/// Every list with none, one and several, every value that may be null both ways, texts that must
/// be escaped.
fn with_everything() -> Report {
    let mut report = fixture::report();
    let odd = "a \"quoted\" name \\ with\na \u{1} and Ø";
    let note = || [Note::from(odd), Note::from("")];
    report.storeys[0].name = odd.into();
    let member = &mut report.members[0];
    member.element.name = None;
    member.element.tag = Some(odd.into());
    member.element.item = Some(12);
    member.element.class = odd.into();
    member.storey = Some(0);
    member.material = None;
    member.with = [MemberIx(1), MemberIx(2)].into();
    member.notes = note().into();
    member.bearings[0].member = Some(MemberIx(3));
    member.bearings[1].element = None;
    member.frame.x = DVec3::new(0.6, -0.8, 0.0);
    member.section =
        Section::IJoist { flange_mm: 39.0, web_mm: 9.5, breadth_mm: 45.0, depth_mm: 240.0 };
    report.members[1].element.guid = odd.into();
    report.services[0].system = Some(odd.into());
    report.services[0].run = 1234;
    report.services[0].notes = note().into();
    report.services[1].shape = ServiceShape::Mesh;
    report.services[2].shape = ServiceShape::Unknown;
    let besides = Seldom {
        inside: [ServiceIx(2), ServiceIx(0)].into(),
        notes: note().into(),
        ..(*Besides::default()).clone()
    };
    let cut = &mut report.cuts[0];
    cut.services = [ServiceIx(3), ServiceIx(2), ServiceIx(1), ServiceIx(0)].into_iter().collect();
    cut.openings = [OpeningIx(0)].into();
    cut.besides = besides.into();
    cut.margin_mm = None;
    cut.shared = 12;
    cut.span = Some(10);
    cut.bit_mm = f64::NAN;
    cut.min_mm.x = -1e300;
    cut.max_mm.y = 1e12;
    cut.obligations = std::iter::repeat_n(cut.obligations[0].clone(), 2).collect();
    let place = |at, windows_mm| CutPlaces { cut: CutIx(at), windows_mm, proposal: None };
    report.places = vec![place(1, vec![[-0.000_4, 1.0], [2.0, 3.123_45]]), place(2, vec![])];
    let remedy = |action, services| Remedy { action, services, text: odd.into() };
    let finding = &mut report.findings[0];
    finding.message = odd.into();
    finding.waived = Some(odd.into());
    finding.measured = Some(Measured { value: 0.333_333_3, unit: Unit::Span });
    finding.limit = Some(Limit { value: 1e-7, unit: Unit::Depth, bound: Bound::Within });
    finding.remedies = [
        remedy(
            Action::ShiftRun { vector_m: [0.1, -0.000_002, 0.0] },
            vec![ServiceIx(1), ServiceIx(0)],
        ),
        remedy(Action::Refer, vec![]),
    ]
    .into();
    report.findings[1].cuts = [].into_iter().collect();
    report.findings[1].services = [].into_iter().collect();
    report
}

/// Figures of cuts of all sizes.
#[test]
fn the_figures_of_rows_are_those_of_the_library() {
    let mut report = fixture::report();
    let mut seed = 1_u64;
    let mut any = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let size = 10_f64.powi((seed >> 59) as i32 - 12);
        (((seed >> 20) % 2_000_000) as f64 / 1e6 - 1.0) * size
    };
    let mut cut = report.cuts[0].clone();
    for _ in 0..2000 {
        cut.min_mm = DVec3::new(any(), any(), any());
        cut.max_mm = DVec3::new(any(), any(), any());
        (cut.bit_mm, cut.margin_mm) = (any(), Some(any()));
        report.cuts.push(cut.clone());
    }
    rows_are_those_of_the_library(&report);
}

#[test]
fn what_is_missing_in_a_report_is_an_empty_text() {
    let mut report = fixture::report();
    report.cuts[0].member = MemberIx(99);
    report.cuts[1].services = [ServiceIx(99)].into_iter().collect();
    report.findings[0].cuts = [CutIx(99)].into_iter().collect();
    rows_are_those_of_the_library(&report);
    let value = value(&report);
    assert_eq!(value["cuts"][0]["member"], "");
    assert!(value["findings"].as_array().unwrap().iter().any(|f| f["cuts"][0] == ""));
}

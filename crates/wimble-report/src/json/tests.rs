use super::*;
use crate::{Report, fixture};
use serde_json::Value;

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

//! The page and the marking-out sheets in a real browser: nothing complains, filters filter, the
//! phone and the printer get whole drawings, five thousand findings stay usable.

#[expect(dead_code, reason = "each test uses its own part of it")]
#[path = "support/shared.rs"]
mod shared;

use serde_json::{Value, json};
use shared::top;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use wimble::{Input, Settings};
use wimble_model::{CutIx, MemberIx, Verdict};
use wimble_report::{Report, marking, page};

/// The sample building, checked.
fn sample() -> Report {
    let folder = top().join("sample-models");
    let text = |name: &str| fs::read_to_string(folder.join(name)).expect("the sample building");
    let mut settings = Settings::read("wimble.toml", &text("wimble.toml"), &|_| None)
        .unwrap_or_else(|trouble| panic!("{trouble}"));
    settings.marking = Some(marking::Issue { number: "M-03".into(), ..marking::Issue::default() });
    let files = ["structure.ifc", "services.ifc"].map(|name| (name, text(name)));
    let inputs: Vec<Input<'_>> =
        files.iter().map(|(name, text)| Input::new(*name, text.as_bytes())).collect();
    wimble::check(&inputs, &settings).expect("the sample building can be checked")
}

/// A page of it in a folder of its own.
struct Written {
    folder: tempfile::TempDir,
    page: PathBuf,
}

fn written(report: &Report, write: fn(&Report, &mut Vec<u8>) -> std::io::Result<()>) -> Written {
    let folder = tempfile::tempdir().expect("a folder");
    let page = folder.path().join("page.html");
    let mut bytes = Vec::new();
    write(report, &mut bytes).expect("written to memory");
    fs::write(&page, bytes).expect("written");
    Written { folder, page }
}

/// What the browser answers; whatever its console says is a failure.
fn browser(steps: &[Value], folder: &Path) -> Vec<Value> {
    assert!(
        Path::new("/usr/bin/chromium").exists(),
        "no browser: apt-get install chromium (`.ci/test` does it)"
    );
    let file = folder.join("steps.json");
    fs::write(&file, Value::from(steps.to_vec()).to_string()).expect("written");
    let script = top().join("tests/page/look.py");
    let output = Command::new("python3").arg(script).arg(file).output().expect("python3 runs");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    let told: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(told["errors"], json!([]), "the browser's console");
    told["answers"].as_array().expect("answers").clone()
}

const SHOWN: &str = "[...document.querySelectorAll('article')].filter(a => !a.hidden).length";

/// Sets a filter as a person does, and counts what is left.
fn choose(name: &str, value: &str) -> Value {
    let choose = format!(
        "(() => {{ const f = document.getElementById('show'); f.elements.{name}.value = {value:?}; \
         f.dispatchEvent(new Event('input', {{ bubbles: true }})); return {SHOWN}; }})()"
    );
    json!({ "ask": choose })
}

#[test]
fn filters_show_what_is_asked_for() {
    let report = sample();
    let with = |verdict: Verdict| {
        let in_cuts = |ix| report.cuts.iter().any(|c| c.member == ix && c.verdict == verdict);
        let in_findings =
            |ix| report.findings.iter().any(|f| f.member == ix && f.verdict == verdict);
        (0..report.members.len())
            .map(MemberIx::from)
            .filter(|ix| in_cuts(*ix) || in_findings(*ix))
            .collect::<Vec<_>>()
    };
    let mut attention: Vec<MemberIx> =
        [Verdict::Fail, Verdict::Refer, Verdict::Unknown].into_iter().flat_map(with).collect();
    attention.sort_unstable();
    attention.dedup();
    let page = written(&report, page::write);
    let answers = browser(
        &[
            json!({ "open": page.page, "width": 1200, "height": 900 }),
            json!({ "ask": SHOWN }),
            choose("verdict", "fail"),
            choose("verdict", "unknown"),
            choose("verdict", ""),
            choose("mark", "ja-09"),
            choose("mark", "no such mark"),
            json!({ "ask": "document.getElementById('none').hidden" }),
            json!({ "ask": format!("document.querySelector('#none button').click(), {SHOWN}") }),
            json!({ "ask": format!("document.querySelector('.ready button').click(), {SHOWN}") }),
            json!({ "ask": "document.querySelector('.ready button').textContent" }),
            // A line of the plan leads to its member, even if that is filtered away.
            choose("mark", "no such mark"),
            json!({ "ask": "(async () => { const link = document.querySelector('.plan a'); \
                location.hash = link.getAttribute('href'); await new Promise(r => setTimeout(r, 200)); \
                return !document.querySelector(link.getAttribute('href')).hidden; })()" }),
        ],
        page.folder.path(),
    );
    assert_eq!(answers[1], json!(attention.len()));
    assert_eq!(answers[2], json!(with(Verdict::Fail).len()));
    assert_eq!(answers[3], json!(with(Verdict::Unknown).len()));
    assert_eq!(answers[4], json!(attention.len()));
    assert_eq!(answers[5], json!(2), "JA-09a and JA-09b");
    assert_eq!((&answers[6], &answers[7]), (&json!(0), &json!(false)));
    assert_eq!(answers[8], json!(attention.len()));
    let ready = answers[10].as_str().expect("text");
    assert!(ready.ends_with(&format!("({})", answers[9])), "{ready}: {} shown", answers[9]);
    assert_eq!(answers[12], json!(true));
}

#[test]
fn the_page_is_whole_on_a_phone_and_for_the_keyboard() {
    let page = written(&sample(), page::write);
    let size = fs::metadata(&page.page).expect("written").len();
    assert!(size < 1_500_000, "{size} bytes for the sample building");
    let answers = browser(
        &[
            json!({ "open": page.page, "width": 390, "height": 844 }),
            json!({ "ask": "document.documentElement.scrollWidth <= window.innerWidth" }),
            json!({ "press": "Tab" }),
            json!({ "ask": "document.activeElement.textContent" }),
            json!({ "press": "Enter" }),
            json!({ "press": "Tab" }),
            json!({ "ask": "document.activeElement.name" }),
            // Each colour has its word beside it.
            json!({ "ask": "[...document.querySelectorAll('use')].every(u => \
                u.closest('li,p,td,h3,span').textContent.includes(u.getAttribute('href').slice(3)))" }),
            json!({ "ask": "[...document.querySelectorAll('svg[role=img]')].every(s => s.getAttribute('aria-label'))" }),
            json!({ "ask": "[...document.querySelectorAll('select,input')].every(s => s.closest('label'))" }),
        ],
        page.folder.path(),
    );
    assert_eq!(answers[1], json!(true), "the page must not be wider than the phone");
    assert_eq!(answers[3], json!("To the members that need attention"));
    assert_eq!(answers[6], json!("verdict"), "after the skip link the filters come first");
    assert_eq!((&answers[7], &answers[8], &answers[9]), (&json!(true), &json!(true), &json!(true)));
}

/// Prints a page with a mark at the head and the foot of each drawing; both must be on one sheet.
/// How many drawings there are, on how many sheets of paper.
fn prints_whole(page: &Written) -> (usize, usize) {
    let pdf = page.folder.path().join("page.pdf");
    let marks = "(() => { let n = 0; for (const svg of document.querySelectorAll('svg[role=img]')) { \
        const [, , w, h] = svg.getAttribute('viewBox').split(' ').map(Number); \
        for (const [word, y] of [['Head', 10], ['Foot', h - 2]]) { \
            const text = document.createElementNS('http://www.w3.org/2000/svg', 'text'); \
            text.setAttribute('x', w - 90); text.setAttribute('y', y); text.setAttribute('font-size', 9); \
            text.textContent = word + 'Of' + n + 'x'; svg.append(text); } n++; } return n; })()";
    let answers = browser(
        &[
            json!({ "open": page.page, "width": 1200, "height": 900 }),
            json!({ "ask": marks }),
            json!({ "print": pdf }),
        ],
        page.folder.path(),
    );
    let text = Command::new("pdftotext").arg(&pdf).arg("-").output();
    let text = text.expect("pdftotext runs: apt-get install poppler-utils (`.ci/test` does it)");
    let text = String::from_utf8_lossy(&text.stdout).into_owned();
    let sheets: Vec<&str> = text.split('\u{c}').collect();
    let drawings = answers[1].as_u64().expect("a number");
    let on = |mark: String| sheets.iter().position(|sheet| sheet.contains(&mark));
    for n in 0..drawings {
        let (head, foot) = (on(format!("HeadOf{n}x")), on(format!("FootOf{n}x")));
        assert!(head.is_some(), "drawing {n} is not printed");
        assert_eq!(head, foot, "drawing {n} is split over two sheets");
    }
    let sheets = sheets.iter().filter(|sheet| !sheet.trim().is_empty()).count();
    (usize::try_from(drawings).expect("few"), sheets)
}

#[test]
fn drawings_print_whole() {
    let report = sample();
    let (drawings, sheets) = prints_whole(&written(&report, page::write));
    assert!(drawings > 50, "{drawings} drawings");
    // Several members share a sheet, and the tables take few.
    assert!(sheets < drawings, "{drawings} drawings on {sheets} sheets of paper");
    let (drawings, _) = prints_whole(&written(&report, marking::html));
    assert!(drawings >= 3, "a plan for each storey, {drawings} drawings");
}

#[test]
fn hostile_names_do_nothing() {
    let mut report = sample();
    let hostile = "\"'><img src=x onerror=alert(1)><script>alert(2)</script>&#x6a;\u{202e}\u{0}";
    for member in &mut report.members {
        member.element.name = Some(format!("{}{hostile}", member.element.guid).into());
        for bearing in &mut member.bearings {
            bearing.name = hostile.into();
        }
    }
    for service in &mut report.services {
        service.element.name = Some(hostile.into());
    }
    report.storeys[0].name = hostile.into();
    for write in [(page::write) as fn(&Report, &mut Vec<u8>) -> std::io::Result<()>, marking::html]
    {
        let page = written(&report, write);
        let answers = browser(
            &[
                json!({ "open": page.page, "width": 1200, "height": 900 }),
                json!({ "ask": "document.querySelectorAll('img, main script').length" }),
            ],
            page.folder.path(),
        );
        assert_eq!(answers[1], json!(0));
    }
}

/// The sample building again and again, side by side, until it has five thousand findings.
fn five_thousand() -> Report {
    let one = sample();
    let mut many = one.clone();
    let shift = |base: usize, ix: u32| u32::try_from(base).expect("few") + ix;
    while many.findings.len() < 5000 {
        let (members, cuts) = (many.members.len(), many.cuts.len());
        let copy = many.findings.len();
        many.members.extend(one.members.iter().cloned().map(|mut member| {
            member.element.name = member.element.name.map(|name| format!("{name}.{copy}").into());
            member.frame.origin_m.x += copy as f64 / 10.0;
            member
        }));
        many.cuts.extend(one.cuts.iter().cloned().map(|mut cut| {
            cut.member = MemberIx(shift(members, cut.member.0));
            cut
        }));
        many.findings.extend(one.findings.iter().cloned().map(|mut finding| {
            finding.member = MemberIx(shift(members, finding.member.0));
            for cut in &mut finding.cuts {
                *cut = CutIx(shift(cuts, cut.0));
            }
            finding
        }));
        many.windows.extend(one.windows.iter().cloned().map(|mut windows| {
            windows.member = MemberIx(shift(members, windows.member.0));
            windows
        }));
    }
    many
}

#[test]
fn five_thousand_findings_stay_usable() {
    let report = five_thousand();
    let from = std::time::Instant::now();
    let page = written(&report, page::write);
    let made = from.elapsed().as_millis();
    let filter = "const f = document.getElementById('show'); f.elements.verdict.value = 'refer'; \
        f.dispatchEvent(new Event('input', { bubbles: true }))";
    let search = "const f = document.getElementById('show'); f.reset(); f.elements.mark.value = 'JA-09a'; \
        f.dispatchEvent(new Event('input', { bubbles: true }))";
    let answers = browser(
        &[
            json!({ "open": page.page, "width": 1200, "height": 900 }),
            json!({ "ask": SHOWN }),
            json!({ "time": filter }),
            json!({ "ask": SHOWN }),
            json!({ "time": search }),
            json!({ "ask": SHOWN }),
        ],
        page.folder.path(),
    );
    let size = fs::metadata(&page.page).expect("written").len();
    println!(
        "{} findings, {} members shown, {} cuts, {size} bytes: made in {made} ms, on the screen \
         after {} ms, filtered in {} ms, searched in {} ms",
        report.findings.len(),
        answers[1],
        report.cuts.len(),
        answers[0],
        answers[2],
        answers[4]
    );
    let count = |at: usize| answers[at].as_u64().expect("a number");
    assert!(count(1) > 1000);
    assert!(count(3) > 0 && count(3) < count(1));
    assert!(count(5) > 0 && count(5) < count(3), "the search finds few of them");
}

use super::archive;
use super::*;
use crate::fixture;

fn written(told: Told) -> Vec<u8> {
    let mut report = fixture::report();
    report.issue.topics = told;
    topics_file(&report).unwrap()
}

/// The markups of a file, by their order in it.
fn markups(packed: &[u8]) -> Vec<String> {
    let files = archive::unpack(packed).unwrap();
    let markups = files.iter().filter(|(path, _)| path.ends_with("markup.bcf"));
    markups.map(|(_, bytes)| String::from_utf8(bytes.clone()).unwrap()).collect()
}

#[test]
fn a_waived_finding_makes_no_topic() {
    let mut report = fixture::report();
    report.findings[0].waived = Some("agreed".into());
    assert_eq!(markups(&topics_file(&report).unwrap()).len(), 3);
}

#[test]
fn titles_say_member_cut_service_place_and_what_breaks() {
    let all = markups(&written(Told::default())).join("");
    let title = "<Title>J2: notch 27 wide and 27 deep in the top, heating pipe “Return”";
    assert!(all.contains(title) || all.contains("heating pipe “Flow”"), "{all}");
    assert!(all.contains("Services designer: Move the pipe 77 mm towards wall W-S."));
}

#[test]
fn a_status_given_by_people_stays_when_the_cause_is_gone() {
    let first = written(Told::default());
    let mut files = archive::unpack(&first).unwrap();
    let markup = files.iter_mut().find(|(path, _)| path.ends_with("markup.bcf")).unwrap().1;
    let text = String::from_utf8(markup.clone()).unwrap();
    *markup = text.replace("TopicStatus=\"Open\"", "TopicStatus=\"In hand\"").into_bytes();
    let mut report = fixture::report();
    report.findings.clear();
    report.issue.topics.before = Some(archive::pack(&files).unwrap());
    let all = markups(&topics_file(&report).unwrap());
    let count = |status: &str| {
        all.iter().filter(|m| m.contains(&format!("TopicStatus=\"{status}\""))).count()
    };
    assert_eq!((all.len(), count("In hand"), count("Closed")), (4, 1, 3));
}

#[test]
fn topics_of_others_stay_as_they_are() {
    let foreign = "<Markup><Topic Guid=\"0a3f9d5e-5c0e-4b53-9a55-0f6f8d2c1b7a\" TopicType=\"Issue\" \
                   TopicStatus=\"Open\"><Title>Ramp</Title></Topic></Markup>";
    let mut files = archive::unpack(&written(Told::default())).unwrap();
    files.insert("0a3f9d5e-5c0e-4b53-9a55-0f6f8d2c1b7a/markup.bcf".into(), foreign.into());
    let before = Some(archive::pack(&files).unwrap());
    let all = markups(&written(Told { before, ..Told::default() }));
    assert_eq!(all.len(), 5);
    let ramp = all.iter().find(|m| m.contains("Ramp")).unwrap();
    assert!(ramp.contains("TopicStatus=\"Open\"") && !ramp.contains("Comment"));
}

#[test]
fn carrying_on_without_a_change_changes_nothing() {
    for version in [Version::V2, Version::V3] {
        let told = Told { version: Some(version), ..Told::default() };
        let first = written(told.clone());
        let second = written(Told { before: Some(first.clone()), ..told });
        let (a, b) = (archive::unpack(&first).unwrap(), archive::unpack(&second).unwrap());
        for (path, bytes) in &a {
            let other = b.get(path).map(|b| String::from_utf8_lossy(b));
            assert_eq!(other.as_deref(), Some(&*String::from_utf8_lossy(bytes)), "{path}");
        }
        assert_eq!(a.len(), b.len());
    }
}

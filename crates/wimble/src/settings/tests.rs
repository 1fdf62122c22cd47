use super::*;
use wimble_recognise::Take;

fn read(text: &str) -> Result<Settings, Box<Trouble>> {
    Settings::read("wimble.toml", text, &|_| None)
}

fn fault(text: &str) -> String {
    let trouble = read(text).unwrap_err();
    format!("{trouble} / {}", trouble.help)
}

#[test]
fn an_empty_file_gives_the_defaults() {
    let settings = read("").unwrap();
    assert_eq!(settings.choice, PackChoice::BySite);
    assert_eq!(settings.fail_on, FailOn::Fail);
    assert!(settings.rules.assume_bearing);
    assert!(!settings.recognise.accept_member_ends);
    assert_eq!(settings.rules.domestic, None);
}

/// The keys of the contract, as its document gives them.
#[test]
fn every_key_of_the_contract_is_read() {
    let settings = read(
        r#"
        [rules]
        packs = ["uk-solid-joist"]
        allow = { bottom-notch = true }
        use = "domestic"
        [cut]
        clearance = "5 mm"
        lagging = "wrap"
        [supports]
        accept-member-ends = true
        assume-bearing = false
        [model]
        align = "map"
        [check]
        fail-on = "refer"
        expect = ["cable", "gas"]
        "#,
    )
    .unwrap();
    assert_eq!(settings.choice, PackChoice::Named(vec!["uk-solid-joist".into()]));
    assert!(settings.rules.allow.contains("bottom-notch"));
    assert_eq!(settings.rules.domestic, Some(true));
    assert_eq!(settings.cross.clearance, wimble_cross::Clearance::one(5.0));
    assert!(settings.recognise.accept_member_ends);
    assert!(!settings.recognise.assume_bearing && !settings.rules.assume_bearing);
    assert!(settings.recognise.align_map);
    assert_eq!(settings.fail_on, FailOn::Refer);
    assert_eq!(settings.expect.len(), 2);
}

#[test]
fn a_switch_that_is_off_is_off() {
    let settings = read("[rules]\nallow = { bottom-notch = false }").unwrap();
    assert!(settings.rules.allow.is_empty());
}

#[test]
fn clearances_may_be_given_by_kind() {
    let settings = read("[cut]\nclearance = { waste = \"1/4 in\", cable = \"6 mm\" }").unwrap();
    assert_eq!(settings.cross.clearance.waste_mm, 6.35);
    assert_eq!(settings.cross.clearance.cable_mm, 6.0);
    assert_eq!(settings.cross.clearance.soil_mm, 10.0);
}

#[test]
fn elements_can_be_mapped_ignored_and_given_supports() {
    let settings = read(
        r#"
        [[model.map]]
        where = { name = "CL_*", material = "hout" }
        is = { member = "joist" }
        [[model.map]]
        where = { class = "IfcRailing" }
        is = "ignore"
        [[supports.stated]]
        where = { name = "J1" }
        bearings = [["0 mm", "100 mm"], ["3.7 m", "3.8 m"]]
        [model]
        ignore = [{ storey = "Roof" }]
        "#,
    )
    .unwrap();
    let takes: Vec<_> = settings.recognise.mapping.iter().map(|m| m.take).collect();
    assert_eq!(takes, [Take::Ignore, Take::Member(wimble_model::MemberKind::Joist), Take::Ignore]);
    assert_eq!(settings.recognise.stated[0].bearings_mm, [[0.0, 100.0], [3700.0, 3800.0]]);
}

#[test]
fn an_unknown_key_is_pointed_at_with_its_near_relation() {
    let text = fault("[rules]\npacs = [\"uk-solid-joist\"]");
    assert!(text.starts_with("wimble.toml:2:1: there is no key `pacs` here"), "{text}");
    assert!(text.contains("did you mean `packs`?"), "{text}");
    let text = fault("[ruels]\n");
    assert!(text.starts_with("wimble.toml:1:2: there is no key `ruels`"), "{text}");
}

#[test]
fn an_unknown_pack_lists_near_names() {
    let text = fault("[rules]\npacks = [\"uk-solid-joists\"]");
    assert!(text.starts_with("wimble.toml:2:10: there is no pack `uk-solid-joists`"), "{text}");
    assert!(text.contains("did you mean uk-solid-joist"), "{text}");
}

#[test]
fn each_kind_of_mistake_says_what_to_write() {
    for (text, says) in [
        ("[rules]\nregion = \"ZZ\"", "no set of packs for the region `ZZ`"),
        ("[rules]\nregion = \"GB\"\npacks = []", "both given"),
        ("[rules]\npacks = [\"mine.toml\"]", "the pack mine.toml cannot be read"),
        ("[rules]\nallow = { fly = true }", "no pack has a switch `fly`"),
        ("[cut]\nclearance = 5", "in quotes, with its unit"),
        ("[cut]\nclearance = \"5\"", "no unit"),
        ("[cut]\nclearance = { pipes = \"5 mm\" }", "no kind `pipes`"),
        ("[cut]\nlagging = \"thick\"", "no choice `thick`"),
        ("[supports]\naccept-member-ends = \"yes\"", "invalid type"),
        ("[[supports.stated]]\nwhere = { name = \"J1\" }", "nothing is stated"),
        ("[[supports.stated]]\nwhere = {}\nspans = []", "chooses no elements"),
        (
            "[[supports.stated]]\nwhere = { name = \"J\" }\nspans = [[\"2 m\", \"1 m\"]]",
            "ends before",
        ),
        ("[model]\nalign = \"north\"", "no choice `north`"),
        ("[[model.map]]\nwhere = { name = \"x\" }", "`is` is missing"),
        ("[check]\nfail-on = \"warn\"", "no choice `warn`"),
        ("[check]\nexpect = [\"drains\"]", "no trade `drains`"),
        ("[[reserve]]\nfor = \"drains\"\nsize = \"32 mm\"", "no trade `drains`"),
        ("[[reserve]]\nfor = \"cable\"\nsize = \"0 mm\"", "no hole is as small"),
        ("[[reserve]]\nfor = \"cable\"", "`size` is missing"),
        ("[rules\n", "wimble.toml:1:"),
    ] {
        let found = fault(text);
        assert!(found.contains(says), "{text}\n gives {found}");
    }
}

#[test]
fn a_pack_of_ones_own_that_is_wrong_is_pointed_at_in_its_own_file() {
    let beside = |name: &str| (name == "mine.toml").then(|| "id = 3\n".to_owned());
    let trouble =
        Settings::read("wimble.toml", "[rules]\npacks = [\"mine.toml\"]", &beside).unwrap_err();
    assert_eq!((trouble.path.as_str(), trouble.line()), ("mine.toml", 1));
}

#[test]
fn fail_on_takes_what_is_at_or_over_it() {
    use Verdict::{Fail, Pass, Refer, Unknown};
    let reached = |on: FailOn| [Pass, Unknown, Refer, Fail].map(|v| on.reached_by(v));
    assert_eq!(reached(FailOn::Fail), [false, false, false, true]);
    assert_eq!(reached(FailOn::Refer), [false, false, true, true]);
    assert_eq!(reached(FailOn::Unknown), [false, true, true, true]);
    assert_eq!(reached(FailOn::Never), [false; 4]);
}

#[test]
fn the_schema_of_the_settings_accepts_what_is_read_and_refuses_what_is_not() {
    let validator = jsonschema::validator_for(&Settings::schema()).unwrap();
    let valid = |text: &str| {
        let value: toml::Value = toml::from_str(text).unwrap();
        validator.is_valid(&serde_json::to_value(value).unwrap())
    };
    assert!(valid(""));
    assert!(valid("[rules]\npacks = [\"uk-solid-joist\"]\n[cut]\nclearance = \"5 mm\""));
    assert!(valid("[cut]\nclearance = { pipe = \"5 mm\" }\n[check]\nfail-on = \"never\""));
    assert!(!valid("[rules]\npacs = []"));
    assert!(!valid("[cut]\nclearance = 5"));
    assert!(!valid("[check]\nfail-on = \"warn\""));
}

#[test]
fn a_waiver_has_a_reason_and_a_last_day() {
    let settings = read(
        r#"
        [[waive]]
        member = "J-0?"
        rule = "uk-solid-joist/notch*"
        reason = "engineer's letter of 3 March"
        by = "A. Weber"
        until = 2027-03-01
        "#,
    )
    .unwrap();
    let [waiver] = &settings.waivers[..] else { panic!("one waiver") };
    assert_eq!(waiver.until, jiff::civil::date(2027, 3, 1));
    assert_eq!(waiver.line, 2);
    assert!(fault("[[waive]]\nmember='J'\nuntil='2027-03-01'").contains("`reason` is missing"));
    assert!(fault("[[waive]]\nmember='J'\nreason=' '\nuntil='2027-03-01'").contains("a reason"));
    assert!(fault("[[waive]]\nmember='J'\nreason='x'\nuntil='soon'").contains("`soon` is no day"));
    let all = fault("[[waive]]\nrule='*'\nreason='x'\nuntil='2027-03-01'");
    assert!(all.contains("more than anyone can answer for"), "{all}");
}

#[test]
fn what_is_stated_is_evidence() {
    let settings = read("[cut]\nclearance = '5 mm'").unwrap();
    assert_eq!(settings.issue.settings, ["cut.clearance = \"5 mm\""]);
}

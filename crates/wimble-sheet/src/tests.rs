//! The sheet as a specification: what it takes, and where it points when something is wrong.

use crate::{Level, Made, Sheet, SheetError};
use proptest::prelude::*;
use wimble_model::{Basis, DeckLoadKind, MemberKind, Role, Section, ServiceShape};
use wimble_recognise::ServiceBody;

const JOIST: &str = "[[member]]\nname = \"J1\"\nsection = \"47 x 220\"\nspan = \"3.6 m\"\n";

fn with(member: &str, cut: &str) -> Result<Sheet, SheetError> {
    let cut = if cut.is_empty() { String::new() } else { format!("[[member.cut]]\n{cut}\n") };
    Sheet::from_toml(&format!("{JOIST}{member}\n{cut}"))
}

/// The cell that a mistake points at, with the message.
fn wrong(member: &str, cut: &str) -> (String, String) {
    let text = if cut.is_empty() {
        format!("{JOIST}{member}\n")
    } else {
        format!("{JOIST}{member}\n[[member.cut]]\n{cut}\n")
    };
    let error = Sheet::from_toml(&text)
        .and_then(|sheet| sheet.building("site.toml", &text).map(|_| ()))
        .unwrap_err();
    (text[error.span.clone()].to_owned(), format!("{}; {}", error.message, error.help))
}

#[test]
fn a_pipe_lies_where_the_sheet_says() {
    // Mid-depth, from the left face; from the right face; up; down; flush with an edge.
    for (cut, x, z) in [
        ("at = 1170", 1270.0, 0.0),
        ("at = 1000\nfrom = \"right\"", 2700.0, 0.0),
        ("at = 300\nfrom = \"left-end\"", 300.0, 0.0),
        ("at = 1170\nup = 80", 1270.0, -30.0),
        ("at = 1170\ndown = \"80 mm\"", 1270.0, 30.0),
        ("at = 500\nin = \"top-notch\"", 600.0, 99.0),
        ("at = 500\nin = \"bottom-notch\"", 600.0, -99.0),
        ("start = 489\nend = 511", 600.0, 0.0),
    ] {
        let sheet = with("", &format!("pipe = \"22 mm copper\"\n{cut}")).unwrap();
        let building = sheet.building("site.toml", "").unwrap();
        let member = &building.scene.members[0];
        let ServiceBody::Round { from, to, radius } = &building.scene.service_bodies[0] else {
            panic!("a round pipe is round")
        };
        let middle = member.frame.local_mm(from.midpoint(*to));
        assert!((middle.x - x).abs() < 1e-6 && (middle.z - z).abs() < 1e-6, "{cut}: {middle}");
        assert!((radius * 1000.0 - 11.0).abs() < 1e-9);
        assert!(from.distance(*to) * 1000.0 > 47.0, "right across");
    }
}

#[test]
fn a_member_is_told_by_its_keys() {
    let sheet = with(
        "kind = \"rafter\"\nclass = \"C24\"\nhung = \"left\"\nbearing = 75\nleft = \"beam B1\"\n\
         role = \"trimmed\"\nspacing = 400\nload = [\"tank 800-1400\", \"bath\"]",
        "",
    )
    .unwrap();
    let told = &sheet.members[0];
    let member = told.facts.as_ref().unwrap();
    assert_eq!(member.kind, MemberKind::Rafter);
    assert_eq!(member.material.as_deref(), Some("C24"));
    assert_eq!(member.role, Some(Role::Trimmed));
    assert_eq!((member.length_mm, member.spans[0].from_mm), (3675.0, 0.0));
    assert_eq!(member.bearings[0].basis, Basis::Hanger);
    assert_eq!(member.bearings[0].name, "beam B1");
    assert_eq!(member.bearings[1].to_mm, 3675.0);
    assert_eq!(told.spacing_mm, Some(400.0));
    assert_eq!(member.loads[0].kind, DeckLoadKind::Vessel);
    assert_eq!((member.loads[0].from_mm, member.loads[0].to_mm), (800.0, 1400.0));
}

#[test]
fn sections_of_every_kind_are_told() {
    let section = |keys: &str| {
        let text = format!("[[member]]\n{keys}\nspan = \"4 m\"\n");
        Sheet::from_toml(&text).unwrap().members[0].facts.clone().unwrap().section
    };
    assert!(
        matches!(section("section = \"1-1/2 x 9-1/4 in\""), Section::Rectangle { depth_mm, .. } if (depth_mm - 234.95).abs() < 1e-9)
    );
    assert!(
        matches!(section("section = \"2x10\""), Section::Rectangle { depth_mm, .. } if (depth_mm - 234.95).abs() < 1e-9)
    );
    assert!(matches!(section("breadth = 45\ndepth = 240\nflange = 45"), Section::IJoist { .. }));
    assert!(matches!(
        section("section = \"72 x 254\"\nchord = \"yes\""),
        Section::OpenWeb { chord_mm: 47.0, .. }
    ));
}

#[test]
fn several_bearings_give_several_spans() {
    let text = "[[member]]\nsection = \"47 x 220\"\nbearings = \"0-100, 2900-3000, 5900-6000\"\n";
    let member = Sheet::from_toml(text).unwrap().members[0].facts.clone().unwrap();
    let spans: Vec<f64> = member.spans.iter().map(wimble_model::Span::length_mm).collect();
    assert_eq!(spans, [2800.0, 2900.0]);
    assert_eq!(member.length_mm, 6000.0);
}

#[test]
fn plies_are_members_side_by_side_that_one_pipe_crosses() {
    let sheet = with("plies = 2", "pipe = \"22 mm copper\"\nat = 1170").unwrap();
    let scene = sheet.building("site.toml", "").unwrap().scene;
    assert_eq!(scene.members.len(), 2);
    assert!(scene.members.iter().all(|m| m.role == Some(Role::Ply) && m.with.len() == 1));
    let ServiceBody::Round { from, to, .. } = &scene.service_bodies[0] else { panic!() };
    assert!(from.distance(*to) * 1000.0 > 94.0);
}

#[test]
fn what_passes_a_plate_goes_down_through_it() {
    // Flat, whichever side is said first; a double one lies on top of the other.
    for (section, plies) in [("90 x 38", 1), ("38 x 90", 1), ("38 x 90", 2)] {
        let text = format!(
            "[[member]]\nkind = \"plate\"\nsection = \"{section}\"\nspan = 600\nplies = {plies}\n\
             [[member.cut]]\npipe = \"22 mm copper\"\nat = 200\nup = 40\n\
             [[member.cut]]\nhole = 30\nat = 400\n"
        );
        let scene = Sheet::from_toml(&text).unwrap().building("t.toml", &text).unwrap().scene;
        let plate = &scene.members[0];
        let (b, h) = (plate.section.breadth_mm(), plate.section.depth_mm());
        assert_eq!((b, h), (90.0, 38.0), "{section}");
        let ServiceBody::Round { from, to, .. } = &scene.service_bodies[0] else { panic!() };
        let [from, to] = [from, to].map(|p| plate.frame.local_mm(*p));
        assert!((from.x - 300.0).abs() < 1e-6 && (from.y + 5.0).abs() < 1e-6, "{from}");
        let top = 19.0 + 38.0 * f64::from(plies - 1);
        assert!(from.y == to.y && from.z < -19.0 && to.z > top, "{from} {to}");
        let hole = scene.opening_bodies[0].bounds();
        assert!((hole.size().z - (to.z - from.z) / 1000.0).abs() < 1e-9, "{hole:?}");
    }
}

#[test]
fn a_measured_cut_is_an_opening_and_not_what_the_pipe_would_need() {
    let sheet = with("", "hole = 30\npipe = \"22 mm copper\"\nat = 1170\nup = 100").unwrap();
    let cut = &sheet.members[0].cuts[0];
    assert_eq!(cut.made, Made::Hole { size_mm: [30.0; 2], round: true, level: Level::Up(100.0) });
    let scene = sheet.building("site.toml", "").unwrap().scene;
    assert_eq!((scene.openings.len(), scene.services.len()), (1, 1));
    assert_eq!(scene.service_bodies[0], ServiceBody::Line { points: Vec::new() });
}

#[test]
fn a_mistake_points_at_its_cell() {
    for (member, cut, cell, why) in [
        ("spacing = \"4 yards\"", "", "\"4 yards\"", "`yards` is not a unit"),
        ("spann = 3600", "", "spann", "did you mean `span`?"),
        ("kind = \"joyst\"", "", "\"joyst\"", "did you mean `joist`?"),
        ("flange = 120", "", "120", "two flanges are deeper"),
        ("plies = 40", "", "40", "is not a number of pieces"),
        ("load = \"piano\"", "", "\"piano\"", "there is no load `piano`"),
        ("", "pipe = \"22 mm coper\"\nat = 900", "\"22 mm coper\"", "did you mean `copper`?"),
        ("", "pipe = \"22 mm copper\"\nat = \"9oo\"", "\"9oo\"", "is not a unit"),
        (
            "",
            "pipe = \"22 mm copper\"\nat = 900\nfrom = \"north\"",
            "\"north\"",
            "there is no face",
        ),
        ("", "pipe = \"22 mm copper\"\nat = 900\nup = 20\ndown = 20", "20", "both given"),
        ("", "notch = \"27\"\nat = 900", "\"27\"", "is not two sizes"),
        ("", "hole = 30\nnotch = \"2 x 2\"\nat = 900", "30", "a hole and a notch"),
        ("", "hole = 30\nat = 900\nin = \"top\"", "30", "a hole is not a notch"),
        ("", "hole = 30\nat = 900\nexisting = \"perhaps\"", "\"perhaps\"", "there is no answer"),
        ("", "notch = \"30 x 10\"\nat = 900\nup = 30", "up", "does not go with"),
    ] {
        let (pointed, message) = wrong(member, cut);
        assert_eq!(pointed, cell, "{message}");
        assert!(message.contains(why), "{message}");
    }
    // What is missing, or lies nowhere in the member, is told at the entry.
    for (cut, why) in [
        ("pipe = \"22 mm copper\"", "where along the member is missing"),
        ("at = 900", "nothing passes here"),
        ("pipe = \"22 mm copper\"\nat = 4200", "beyond the end of J1"),
        ("pipe = \"22 mm copper\"\nat = 900\nup = 900", "above or below J1"),
        ("notch = \"30 x 300\"\nat = 900", "deeper than J1"),
    ] {
        let (pointed, message) = wrong("", cut);
        assert!(pointed.starts_with("[[member.cut]]"), "{pointed}: {message}");
        assert!(message.contains(why), "{message}");
    }
    let twice = Sheet::from_toml(&format!("{JOIST}{JOIST}")).unwrap_err();
    assert!(twice.message.contains("two members are called `J1`"));
    assert!(Sheet::from_toml("").unwrap_err().message.contains("no member"));
    assert!(Sheet::from_toml("[[joist]]\n").unwrap_err().message.contains("no table `joist`"));
    assert!(Sheet::from_toml("[member").unwrap_err().span.start > 0);
}

#[test]
fn several_sheets_are_one_building_in_which_each_is_a_part_of_its_own() {
    let kitchen =
        format!("title = \"Kitchen\"\n{JOIST}[[member.cut]]\npipe = \"22 mm copper\"\nat = 900\n");
    let other = kitchen.replace("title = \"Kitchen\"\n", "\n\n");
    let mut building = crate::Building::default();
    for (path, text) in [("kitchen.toml", &kitchen), ("hall.toml", &other)] {
        building.add(&Sheet::from_toml(text).unwrap(), path, text).unwrap();
    }
    let scene = &building.scene;
    let paths: Vec<&str> = scene.inputs.iter().map(|input| input.path.as_str()).collect();
    assert_eq!(paths, ["kitchen.toml", "hall.toml"]);
    let storeys: Vec<&str> = scene.storeys.iter().map(|storey| storey.name.as_str()).collect();
    assert_eq!(storeys, ["Kitchen", "hall.toml"]);
    // Both have a J1; neither meets the other's pipe.
    let of: Vec<_> = scene.members.iter().map(|m| (m.element.input, m.storey)).collect();
    assert_eq!(of, [(0, Some(0)), (1, Some(1))]);
    assert_eq!(scene.services.iter().map(|s| s.element.input).collect::<Vec<_>>(), [0, 1]);
    let apart = scene.members[0].frame.origin_m.distance(scene.members[1].frame.origin_m);
    assert!(apart >= 5.0 - 1e-9, "{apart}");
    assert_eq!(building.member_lines, [Some(2), Some(3)]);
    let rows: Vec<_> = scene.coverage.iter().map(|row| (row.input, row.count)).collect();
    assert_eq!(rows, [(0, 1), (0, 1), (1, 1), (1, 1)]);
}

const TABLE: &str = "title:,Kitchen\nunits:,mm\nmeasured by:,A. Surveyor\nmember,section,span,pipe,hole,at (mm),from,name\n\
    J1,47 x 220,3600,22 mm copper,,1170,,hot\n,,,,30,2430,left,\"old, unused\"\nJ2,\"1-1/2\"\" x 9\",12 ft,,1 in,30,right,\n";

#[test]
fn a_table_says_the_same_as_toml() {
    let sheet = Sheet::from_csv(TABLE).unwrap();
    assert_eq!(sheet.title, "Kitchen");
    assert_eq!(sheet.survey.as_ref().map(|s| s.by.as_str()), Some("A. Surveyor"));
    assert_eq!(sheet.members.len(), 2);
    assert_eq!(sheet.members[0].cuts.len(), 2);
    assert_eq!(sheet.members[0].cuts[1].name, "old, unused");
    let depth = sheet.members[1].facts.as_ref().unwrap().section.depth_mm();
    assert!((depth - 9.0).abs() < 1e-9 || (depth - 228.6).abs() < 1e-9, "{depth}");
    let semicolons =
        TABLE.lines().skip(3).take(2).collect::<Vec<_>>().join("\r\n").replace(',', ";");
    let again = Sheet::from_csv(&semicolons).unwrap();
    assert_eq!(again.members[0].cuts[0].place, sheet.members[0].cuts[0].place);
    let shape = again.members[0].cuts[0].service.as_ref().unwrap().shape;
    assert_eq!(shape, ServiceShape::RoundMm(22.0));
}

#[test]
fn a_mistake_in_a_table_points_at_its_cell() {
    for (text, cell, why) in [
        ("member,span\nJ1,\"3 x\"\n", "", "section"),
        ("member,sektion\nJ1,47 x 220\n", "sektion", "did you mean `section`?"),
        ("section,span\n47 x 220,3600\n", "section", "no column `member`"),
        ("member,section,span,at\nJ1,47 x 220,3.6 km,900\n", "3.6 km", "`km` is not a unit"),
        ("member,section,span\nJ1,47 x 220,3600,extra\n", "extra", "under no column"),
        ("member,span,span\n", "span", "two columns"),
        ("colour:,red\nmember\n", "colour:", "there is no head line `colour`"),
        ("member,depth (yd)\n", "depth (yd)", "there is no unit `yd`"),
        ("member,name\n\"J1,x\n", "\"", "never closed"),
        (",section\n,47 x 220\n", ",", ""),
    ] {
        let error = match Sheet::from_csv(text).and_then(|s| s.building("t.csv", text).map(|_| ()))
        {
            Err(error) => error,
            Ok(()) => panic!("{text}"),
        };
        if !cell.is_empty() && cell != "," {
            assert_eq!(text[error.span.clone()].trim(), cell, "{}", error.message);
        }
        let said = format!("{}; {}", error.message, error.help);
        assert!(said.contains(why), "{said}");
    }
}

proptest! {
    #[test]
    fn nothing_that_is_written_breaks_it(text in "[\\PC\\n]{0,80}", member in "\\PC{0,20}", at in "\\PC{0,12}") {
        let _ = Sheet::from_toml(&text);
        let _ = Sheet::from_csv(&text);
        let whole = format!("member,section,span,pipe,at\nJ1,{member},3600,22 mm copper,{at}\n");
        if let Ok(sheet) = Sheet::from_csv(&whole) {
            let _ = sheet.building("t.csv", &whole);
        }
    }
}

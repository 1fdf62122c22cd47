//! Published tables and examples, put to the shipped packs row by row. The data, with source and
//! edition, is in `published/`; its README says what was left out.

use serde::Deserialize;
use std::path::{Path, PathBuf};
use wimble_model::{
    Cut, CutKind, Element, Lagging, Member, MemberIx, MemberKind, Role, Section, Service,
    ServiceIx, ServiceKind, ServiceMaterial, ServiceShape, TimberMake, Trade,
};
use wimble_rules::{
    CutJudgement, PackSet, RuleSettings, Situation, check, cut_by_hand, limits, member_by_hand,
    parse_length,
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Published {
    #[serde(default)]
    table: Vec<Block>,
    #[serde(default)]
    cases: Vec<Block>,
    #[serde(default)]
    exceeds: Vec<Block>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Block {
    source: String,
    edition: String,
    status: String,
    packs: Vec<String>,
    kind: String,
    make: Option<String>,
    role: Option<String>,
    load_bearing: Option<bool>,
    breadth: Option<toml::Value>,
    depth: Option<toml::Value>,
    span: Option<toml::Value>,
    rounding: Option<String>,
    columns: Vec<String>,
    rows: Vec<Vec<toml::Value>>,
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/published")
}

fn published(file: &str) -> Published {
    let text = std::fs::read_to_string(folder().join(file)).unwrap();
    let read: Published = toml::from_str(&text).unwrap_or_else(|e| panic!("{file}: {e}"));
    for block in read.table.iter().chain(&read.cases).chain(&read.exceeds) {
        assert!(!block.source.is_empty() && !block.edition.is_empty(), "{file}");
        assert!(["published", "restated", "computed"].contains(&block.status.as_str()), "{file}");
    }
    read
}

fn mm(value: &toml::Value) -> f64 {
    match value {
        toml::Value::Integer(n) => *n as f64,
        toml::Value::Float(f) => *f,
        toml::Value::String(text) => parse_length(text).unwrap(),
        other => panic!("no length: {other}"),
    }
}

/// One row of a block, with what the block says of all.
struct Row<'b> {
    block: &'b Block,
    cells: &'b [toml::Value],
}

impl<'b> Row<'b> {
    fn get(&self, name: &str) -> Option<&'b toml::Value> {
        let at = self.block.columns.iter().position(|c| c == name)?;
        self.cells.get(at)
    }

    fn length(&self, name: &str, of_all: Option<&toml::Value>) -> f64 {
        self.get(name).or(of_all).map_or_else(|| panic!("{} lacks {name}", self.block.source), mm)
    }

    fn text(&self, name: &str) -> &'b str {
        self.get(name).and_then(toml::Value::as_str).unwrap_or_default()
    }

    fn member(&self) -> Member {
        let block = self.block;
        let breadth_mm = self.length("breadth", block.breadth.as_ref());
        let depth_mm = self.length("depth", block.depth.as_ref());
        let span = self.length("span", block.span.as_ref());
        let (kind, section) = match block.kind.as_str() {
            "i-joist" => (
                MemberKind::Joist,
                Section::IJoist { breadth_mm, depth_mm, flange_mm: 38.1, web_mm: 10.0 },
            ),
            "open-web" => (
                MemberKind::Joist,
                Section::OpenWeb { breadth_mm, depth_mm, chord_mm: 47.0, webs_known: true },
            ),
            name => {
                let kind = match name {
                    "joist" => MemberKind::Joist,
                    "beam" => MemberKind::Beam,
                    "stud" => MemberKind::Stud,
                    "plate" => MemberKind::Plate,
                    other => panic!("no kind of member: {other}"),
                };
                (kind, Section::Rectangle { breadth_mm, depth_mm })
            }
        };
        let mut member = member_by_hand(kind, section, span);
        if block.make.as_deref() == Some("glulam") {
            member.make = TimberMake::Glulam;
        }
        if block.role.as_deref() == Some("ply") {
            member.role = Some(Role::Ply);
        }
        member.load_bearing = block.load_bearing;
        member
    }
}

fn rows<'b>(blocks: &'b [Block]) -> impl Iterator<Item = Row<'b>> {
    blocks.iter().flat_map(|block| block.rows.iter().map(move |cells| Row { block, cells }))
}

fn packs(block: &Block) -> PackSet {
    PackSet::built_in().choose(&block.packs).unwrap()
}

fn judge(member: &Member, cut: Cut, services: &[Service], packs: &PackSet) -> CutJudgement {
    let situation =
        Situation { members: std::slice::from_ref(member), services, openings: &[], cuts: &[cut] };
    check(&situation, packs, &RuleSettings::default()).cuts.remove(0)
}

/// Whether a printed figure agrees with the exact one, by the block's rounding.
fn agrees(rounding: &str, printed: f64, exact: f64) -> bool {
    match rounding {
        "exact" => (printed - exact).abs() < 0.0005,
        "half-up" => ((exact * 10.0 + 0.5 + 1e-9).floor() / 10.0 - printed).abs() < 1e-9,
        "up" => printed == exact.ceil(),
        "down" => printed == exact.floor(),
        "tenth" => (printed - exact).abs() <= 0.051,
        // Printed in inches to four decimals.
        "inches-4" => (printed - exact / 25.4).abs() <= 0.00006,
        other => panic!("no rounding: {other}"),
    }
}

fn tables(file: &str) {
    let read = published(file);
    for row in rows(&read.table) {
        let block = row.block;
        let rounding = block.rounding.as_deref().unwrap_or("exact");
        let member = row.member();
        let told = limits(&member, &packs(block), &RuleSettings::default());
        let of = |cut: &str, option: Option<&str>| {
            told.rows
                .iter()
                .find(|r| r.cut == cut && option.is_none_or(|o| r.option.as_deref() == Some(o)))
                .unwrap_or_else(|| panic!("{}: no row for {cut}", block.source))
        };
        for column in &block.columns {
            let printed = || mm(row.get(column).unwrap());
            let (exact, by) = match column.as_str() {
                "depth" | "breadth" | "span" => continue,
                "hole" => (of("hole", None).greatest_mm.unwrap(), rounding),
                "notch" => (of("top-notch", None).greatest_mm.unwrap(), rounding),
                "end-notch" => (of("joinery", None).greatest_mm.unwrap(), rounding),
                "bore" => (of("bore", None).greatest_mm.unwrap(), rounding),
                // In the middle of the depth, with the wood that a cable asks for on both sides.
                "no-plate" => {
                    let cable = told.duties.iter().find(|d| d.rule == "us-cover/cable").unwrap();
                    (member.section.depth_mm() - 2.0 * cable.below_mm, rounding)
                }
                "notch-inner" => (of("top-notch", Some("inner")).greatest_mm.unwrap(), rounding),
                "notch-length" => (of("top-notch", None).greatest_length_mm.unwrap(), rounding),
                // Zones are printed in whole millimetres and are exact in all sources.
                "hole-from" => (of("hole", None).zones_mm[0][0], "exact"),
                "hole-to" => (of("hole", None).zones_mm[0][1], "exact"),
                "notch-from" => (of("top-notch", None).zones_mm[0][0], "exact"),
                "notch-to" => (of("top-notch", None).zones_mm[0][1], "exact"),
                "clear" => (clear_web(&member), "exact"),
                other => panic!("no column: {other}"),
            };
            assert!(
                agrees(by, printed(), exact),
                "{}: {column} printed {}, ours {exact}",
                block.source,
                printed()
            );
        }
    }
}

/// The clear depth between chords, asked of the program as what a pack with `left = web` allows.
fn clear_web(member: &Member) -> f64 {
    let pack = "id = \"clear\"\ntitle = \"Clear web\"\nextends = \"open-web-general\"\n\
        [[source]]\nkey = \"test\"\ntitle = \"Clear depth\"\nstatus = \"own\"\n\
        [[rule]]\nid = \"clear\"\ncut = [\"between-webs\"]\ncheck = \"left\"\nalong = \"web\"\n\
        at-least = \"0 mm\"\nsource = \"test\"\nwhy = \"Between the chords.\"\n";
    let packs =
        PackSet::built_in().with_text("clear.toml", pack).unwrap().choose(&["clear"]).unwrap();
    limits(member, &packs, &RuleSettings::default()).rows[0].greatest_mm.unwrap()
}

fn service(word: &str) -> Vec<Service> {
    let (kind, trade) = match word {
        "" => return Vec::new(),
        "waste" => (ServiceKind::Pipe, Trade::Waste),
        "carrier" => (ServiceKind::Carrier, Trade::Electric),
        other => panic!("no service: {other}"),
    };
    vec![Service {
        element: Element::default(),
        kind,
        trade,
        material: ServiceMaterial::NotStated,
        system: None,
        run: 0,
        storey: None,
        shape: ServiceShape::Unknown,
        lagging: Lagging::None,
        notes: [].into(),
    }]
}

fn cases(file: &str) {
    let read = published(file);
    for row in rows(&read.cases) {
        let member = row.member();
        let size = row.length("size", None);
        let face = member.spans[0].from_mm;
        let (from, to) = if row.get("at").is_some() {
            let at = row.length("at", None);
            (at - size / 2.0, at + size / 2.0)
        } else {
            (row.length("from", None), row.length("to", None))
        };
        let half = member.section.depth_mm() / 2.0;
        // As long as nobody minds.
        let (from, to) = match row.text("cut") {
            "short-notch" => (from, from + 10.0),
            _ => (from, to),
        };
        let (kind, z) = match row.text("cut") {
            "end-notch" => (CutKind::Joinery, (-half, -half + size)),
            "short-notch" => (CutKind::TopNotch, (half - size, half)),
            "hole" => (CutKind::Hole, (-size / 2.0, size / 2.0)),
            "web-hole" => (CutKind::WebHole, (-size / 2.0, size / 2.0)),
            "top-notch" => (CutKind::TopNotch, (half - size, half)),
            "bottom-notch" => (CutKind::BottomNotch, (-half, -half + size)),
            "bore" => (CutKind::Bore, (-half, half)),
            other => panic!("no cut: {other}"),
        };
        let mut cut = cut_by_hand(MemberIx(0), &member, kind, (face + from, face + to), z);
        if kind == CutKind::Bore {
            (cut.min_mm.y, cut.max_mm.y) = (-size / 2.0, size / 2.0);
        }
        let services = service(row.text("service"));
        cut.services = (0..services.len()).map(ServiceIx::from).collect();
        let judged = judge(&member, cut, &services, &packs(row.block));
        let told = format!("{}: {:?}", row.block.source, row.cells);
        assert_eq!(judged.verdict.word(), row.text("verdict"), "{told}");
        if row.get("obligations").is_some() {
            let words: Vec<String> = judged
                .obligations
                .iter()
                .map(|o| serde_json::to_value(o.kind).unwrap().as_str().unwrap().to_owned())
                .collect();
            assert_eq!(words.join(" "), row.text("obligations"), "{told}");
        }
    }
}

#[test]
fn uk_and_irish_tables() {
    tables("uk-ireland.toml");
    cases("uk-ireland.toml");
}

#[test]
fn north_american_tables() {
    tables("north-america.toml");
    cases("north-america.toml");
}

#[test]
fn figures_of_other_countries() {
    tables("other-countries.toml");
    cases("other-countries.toml");
}

#[test]
fn printed_roundings_beyond_the_exact_limit_are_not_followed() {
    for file in ["north-america.toml", "uk-ireland.toml"] {
        let read = published(file);
        assert!(!read.exceeds.is_empty(), "{file}");
        for row in rows(&read.exceeds) {
            let told = limits(&row.member(), &packs(row.block), &RuleSettings::default());
            let columns = [
                ("hole", "hole", None),
                ("notch", "top-notch", None),
                ("notch-outer", "top-notch", Some("outer")),
            ];
            for (column, cut, option) in columns {
                let Some(printed) = row.get(column).map(mm) else { continue };
                let of_option = |r: &&wimble_rules::LimitRow| {
                    r.cut == cut && option.is_none_or(|o| r.option.as_deref() == Some(o))
                };
                let exact = told.rows.iter().find(of_option).unwrap().greatest_mm.unwrap();
                assert!(printed > exact, "{}: {printed} is within {exact}", row.block.source);
            }
        }
    }
}

/// A published table of sizes and distances, cell by cell.
struct Cell {
    product: String,
    depth: f64,
    size: f64,
    distance: f64,
    span_limit: Option<f64>,
}

fn cells(text: &str) -> Vec<Cell> {
    text.lines()
        .skip(1)
        .map(|line| {
            let at: Vec<&str> = line.split(',').collect();
            Cell {
                product: at[0].to_owned(),
                depth: parse_length(at[1]).unwrap(),
                size: parse_length(at[3]).unwrap(),
                distance: parse_length(at[4]).unwrap(),
                span_limit: at.get(5).map(|s| parse_length(s).unwrap()),
            }
        })
        .collect()
}

fn i_joist(product: &str, depth_mm: f64, flange_mm: f64, span: f64) -> Member {
    let section = Section::IJoist { breadth_mm: 63.5, depth_mm, flange_mm, web_mm: 9.5 };
    let mut member = member_by_hand(MemberKind::Joist, section, span);
    member.material = Some(product.to_owned().into());
    member
}

/// The verdict of a round web hole whose centre is so far from the left face.
fn web_hole(member: &Member, size: f64, centre: f64, packs: &PackSet) -> String {
    let x = member.spans[0].from_mm + centre;
    let half = size / 2.0;
    let cut =
        cut_by_hand(MemberIx(0), member, CutKind::WebHole, (x - half, x + half), (-half, half));
    judge(member, cut, &[], packs).verdict.word().to_owned()
}

#[test]
fn every_cell_of_a_hole_table_measured_to_the_centre() {
    let text = include_str!("../crates/wimble-rules/packs/i-joist-table.csv");
    let packs = PackSet::built_in().choose(&["i-joist-table"]).unwrap();
    let mut count = 0;
    for cell in cells(text) {
        let span = cell.span_limit.unwrap();
        let member = i_joist(&cell.product, cell.depth, 38.1, span);
        count += 1;
        // The largest holes are printed further from the support than half of the span.
        if cell.distance > span / 2.0 {
            assert_eq!(web_hole(&member, cell.size, span / 2.0, &packs), "fail");
            continue;
        }
        assert_eq!(
            web_hole(&member, cell.size, cell.distance, &packs),
            "pass",
            "{} {}",
            cell.product,
            cell.size
        );
        assert_eq!(web_hole(&member, cell.size, cell.distance - 0.1, &packs), "fail");
        assert_eq!(web_hole(&member, cell.size, span - cell.distance, &packs), "pass");
        // Beyond the span that the table is made for the maker decides.
        let long = i_joist(&cell.product, cell.depth, 38.1, span + 1.0);
        assert_eq!(web_hole(&long, cell.size, span / 2.0, &packs), "refer");
    }
    assert_eq!(count, 126);
}

#[test]
fn a_shorter_span_brings_the_hole_nearer_to_the_support() {
    // 11-7/8 in, series 40, 6 in hole, span 12-0 for a table span of 16-7: 3-9 x 12 / 16.583.
    let packs = PackSet::built_in().choose(&["i-joist-table"]).unwrap();
    let member = i_joist("Series 40", 11.875 * 25.4, 38.1, 12.0 * 304.8);
    let exact: f64 = 3.75 * 12.0 / (16.0 + 7.0 / 12.0) * 304.8;
    assert!((exact / 304.8 - 2.71).abs() < 0.005);
    assert_eq!(web_hole(&member, 6.0 * 25.4, exact, &packs), "pass");
    assert_eq!(web_hole(&member, 6.0 * 25.4, exact - 0.1, &packs), "fail");
}

#[test]
fn every_cell_of_a_hole_table_measured_to_the_edge_as_a_users_pack() {
    let csv = std::fs::read_to_string(folder().join("i-joist-to-edge.csv")).unwrap();
    let text = "id = \"older-sheet\"\ntitle = \"An older sheet\"\nextends = \"us-i-joist\"\n\
        without = [\"maker-table\"]\n\
        [[source]]\nkey = \"sheet\"\ntitle = \"Allowable holes, older edition, end support\"\nstatus = \"published\"\n\
        [[table]]\nkey = \"edge\"\nfile = \"edge.csv\"\npart = \"near-edge\"\n\
        [[rule]]\nid = \"distance\"\ncut = [\"web-hole\"]\ncheck = \"support-distance\"\n\
        at-least = \"table(edge)\"\nsource = \"sheet\"\nwhy = \"Shear.\"\n";
    let packs = PackSet::built_in()
        .with_text_beside("older.toml", text, &|file| (file == "edge.csv").then(|| csv.clone()))
        .unwrap()
        .choose(&["older-sheet"])
        .unwrap();
    let all = cells(&csv);
    assert_eq!(all.len(), 38);
    for cell in all {
        let member = i_joist(&cell.product, cell.depth, 31.75, 6000.0);
        let centre = cell.distance + cell.size / 2.0;
        assert_eq!(
            web_hole(&member, cell.size, centre, &packs),
            "pass",
            "{} {}",
            cell.product,
            cell.size
        );
        assert_eq!(web_hole(&member, cell.size, centre - 0.1, &packs), "fail");
    }
}

//! A member as a sheet tells it.

use crate::cut::{self, SheetCut};
use crate::error::SheetError;
use crate::lumber::read_lumber;
use crate::row::{Cell, RawMember, Row, pair};
use crate::tape::{TapeUnit, read_tape};
use std::ops::Range;
use wimble_model::{
    Basis, Bearing, DeckLoad, DeckLoadKind, Member, MemberKind, Place, Role, Section, Span,
    TimberMake,
};
use wimble_rules::{BEARING_BY_HAND_MM, member_by_hand};

/// Keys of a member.
pub(crate) const MEMBER_KEYS: &[&str] = &[
    "name",
    "guid",
    "tag",
    "kind",
    "section",
    "breadth",
    "depth",
    "flange",
    "web",
    "chord",
    "make",
    "product",
    "class",
    "span",
    "bearing",
    "bearings",
    "left",
    "right",
    "hung",
    "spacing",
    "plies",
    "role",
    "load-bearing",
    "place",
    "load",
];

/// A member of a sheet, with its cuts.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetMember {
    /// What it is called.
    pub name: String,
    /// GlobalId of the member of a model that it is, if said.
    pub guid: Option<String>,
    /// Its tag or mark in a model, if said.
    pub tag: Option<String>,
    /// Its sizes and bearings in its own frame; `None` where the sheet only names a member of a
    /// model.
    pub facts: Option<Member>,
    /// How many pieces lie side by side and act as one.
    pub plies: u32,
    /// Distance to the next one, mm, if said.
    pub spacing_mm: Option<f64>,
    /// What passes through it and what is cut.
    pub cuts: Vec<SheetCut>,
    /// Where the text says which member it is: its GlobalId, else its tag, else its name.
    pub called: Range<usize>,
    /// Where it stands in the text.
    pub span: Range<usize>,
}

pub(crate) const KINDS: [(&str, MemberKind); 9] = [
    ("joist", MemberKind::Joist),
    ("rafter", MemberKind::Rafter),
    ("beam", MemberKind::Beam),
    ("stud", MemberKind::Stud),
    ("post", MemberKind::Post),
    ("plate", MemberKind::Plate),
    ("rim", MemberKind::Rim),
    ("truss-part", MemberKind::TrussPart),
    ("lintel", MemberKind::Lintel),
];
pub(crate) const MAKES: [(&str, TimberMake); 3] =
    [("solid", TimberMake::Solid), ("glulam", TimberMake::Glulam), ("lvl", TimberMake::Lvl)];
pub(crate) const ROLES: [(&str, Option<Role>); 4] = [
    ("ordinary", None),
    ("trimmer", Some(Role::Trimmer)),
    ("trimming", Some(Role::Trimming)),
    ("trimmed", Some(Role::Trimmed)),
];
pub(crate) const PLACES: [(&str, Place); 5] = [
    ("floor", Place::Floor),
    ("flat-roof", Place::FlatRoof),
    ("ceiling", Place::Ceiling),
    ("pitched-roof", Place::PitchedRoof),
    ("wall", Place::Wall),
];
/// Which ends hang: left, right.
pub(crate) const HUNG: [(&str, [bool; 2]); 4] = [
    ("no", [false, false]),
    ("left", [true, false]),
    ("right", [false, true]),
    ("both", [true, true]),
];
const LOADS: [(&str, DeckLoadKind); 8] = [
    ("tank", DeckLoadKind::Vessel),
    ("cylinder", DeckLoadKind::Vessel),
    ("boiler", DeckLoadKind::Vessel),
    ("stove", DeckLoadKind::Vessel),
    ("wall-along", DeckLoadKind::PartitionAlong),
    ("wall-across", DeckLoadKind::PartitionAcross),
    ("bath", DeckLoadKind::Bath),
    ("shower", DeckLoadKind::Bath),
];
/// Web of an I-joist and its flange where they are not said (our own figures): the section is then
/// still one whose flanges are never cut.
const WEB_MM: f64 = 10.0;
/// Chord of an open-web joist where it is not said (published: 47 mm chords), mm.
const CHORD_MM: f64 = 47.0;
/// More pieces side by side than this is no joist.
const MOST_PLIES: u32 = 10;

pub(crate) fn read(
    raw: RawMember,
    unit: TapeUnit,
    number: usize,
    assumptions: &mut Vec<String>,
) -> Result<SheetMember, SheetError> {
    let RawMember { mut row, cuts } = raw;
    row.keys(MEMBER_KEYS)?;
    let span = row.span.clone();
    let mut cell = |key: &str| row.take(key).filter(|cell| !cell.text.trim().is_empty());
    let by = [cell("guid"), cell("tag"), cell("name")];
    let called = by.iter().flatten().next().map_or(span.clone(), |cell| cell.span.clone());
    let [guid, tag, name] = by.map(|cell| cell.map(|cell| cell.text.trim().to_owned()));
    let name = name
        .or_else(|| guid.clone())
        .or_else(|| tag.clone())
        .unwrap_or_else(|| format!("member {number}"));
    let kind = match row.take("kind") {
        Some(cell) => cell.word("kind of member", &KINDS)?,
        None => MemberKind::Joist,
    };
    let spacing_mm = row.take("spacing").map(|cell| cell.size(unit)).transpose()?;
    let plies = row.take("plies").map_or(Ok(1), |cell| plies(&cell))?;
    let facts = match section(&mut row, unit)? {
        Some(section) if kind == MemberKind::Plate => {
            Some(facts(&mut row, unit, kind, flat(section), &name)?)
        }
        Some(section) => Some(facts(&mut row, unit, kind, section, &name)?),
        None => match row.take("span").or_else(|| row.take("bearings")) {
            None => None,
            Some(cell) => {
                return cell.wrong(
                    format!("the section of {name} is missing"),
                    "add section = \"47 x 220\": the finished breadth and depth",
                );
            }
        },
    };
    if facts.is_some()
        && kind == MemberKind::Stud
        && facts.as_ref().is_some_and(|m| m.load_bearing.is_none())
    {
        assumptions.push(format!("{name}: taken as loadbearing (the sheet does not say)"));
    }
    row.done()?;
    let cuts = cuts
        .into_iter()
        .enumerate()
        .map(|(at, row)| cut::read(row, unit, at + 1, &name, assumptions))
        .collect::<Result<_, _>>()?;
    Ok(SheetMember { name, guid, tag, facts, plies, spacing_mm, cuts, called, span })
}

/// A plate lies flat, whichever of its sides is said first.
fn flat(section: Section) -> Section {
    match section {
        Section::Rectangle { breadth_mm: a, depth_mm: b } => {
            Section::Rectangle { breadth_mm: a.max(b), depth_mm: a.min(b) }
        }
        other => other,
    }
}

fn plies(cell: &Cell) -> Result<u32, SheetError> {
    match cell.text.trim().parse::<u32>() {
        Ok(count @ 1..=MOST_PLIES) => Ok(count),
        _ => cell.wrong(
            format!("`{}` is not a number of pieces side by side", cell.text.trim()),
            "write 1 for an ordinary joist, 2 for a doubled one",
        ),
    }
}

fn section(row: &mut Row, unit: TapeUnit) -> Result<Option<Section>, SheetError> {
    let both = row.take("section");
    let (breadth, depth) = (row.take("breadth"), row.take("depth"));
    let (breadth_mm, depth_mm) = match (&both, &breadth, &depth) {
        (Some(cell), None, None) => {
            let [breadth, depth] = match read_lumber(&cell.text) {
                Some(dressed) => dressed,
                None => pair(cell, unit)?,
            };
            (breadth, depth)
        }
        (None, Some(breadth), Some(depth)) => (breadth.size(unit)?, depth.size(unit)?),
        (None, None, None) => return Ok(None),
        (Some(cell), _, _) => {
            return cell.wrong("`section` is given beside `breadth` or `depth`", "say it once");
        }
        (None, Some(cell), None) => {
            return cell.wrong("the breadth is given and the depth is not", "add `depth`");
        }
        (None, None, Some(cell)) => {
            return cell.wrong("the depth is given and the breadth is not", "add `breadth`");
        }
    };
    let (flange, web, chord) = (row.take("flange"), row.take("web"), row.take("chord"));
    if let Some(cell) = flange {
        let flange_mm = cell.size(unit)?;
        if 2.0 * flange_mm >= depth_mm {
            return cell.wrong("two flanges are deeper than the joist", "");
        }
        let web_mm = web.map_or(Ok(WEB_MM), |cell| cell.size(unit))?;
        return Ok(Some(Section::IJoist { breadth_mm, depth_mm, flange_mm, web_mm }));
    }
    if let Some(cell) = web {
        return cell.wrong("a web is given and the flange is not", "add `flange`: its depth");
    }
    if let Some(cell) = chord {
        let chord_mm = match cell.text.trim() {
            "yes" | "true" => CHORD_MM,
            _ => cell.size(unit)?,
        };
        if 2.0 * chord_mm >= depth_mm {
            return cell.wrong("two chords are deeper than the joist", "");
        }
        return Ok(Some(Section::OpenWeb { breadth_mm, depth_mm, chord_mm, webs_known: false }));
    }
    Ok(Some(Section::Rectangle { breadth_mm, depth_mm }))
}

fn facts(
    row: &mut Row,
    unit: TapeUnit,
    kind: MemberKind,
    section: Section,
    name: &str,
) -> Result<Member, SheetError> {
    let (span, bearings) = (row.take("span"), row.take_all("bearings"));
    let mut member = match (&span, bearings.is_empty()) {
        (Some(cell), true) => {
            let mut member = member_by_hand(kind, section, cell.size(unit)?);
            seat(row, unit, &mut member)?;
            member
        }
        (None, false) => on_bearings(&bearings, unit, kind, section)?,
        (Some(cell), false) => {
            return cell.wrong("`span` and `bearings` are both given", "say one of them");
        }
        (None, true) => {
            return row.lacks(
                &format!("the clear span of {name} is missing"),
                "measure it face to face: span = \"3.6 m\"",
            );
        }
    };
    let faces = [row.take("left"), row.take("right")];
    let last = member.bearings.len().saturating_sub(1);
    for (cell, at) in faces.into_iter().zip([0, last]) {
        if let (Some(cell), Some(bearing)) = (cell, member.bearings.get_mut(at)) {
            bearing.name = cell.text.trim().into();
        }
    }
    if let Some(cell) = row.take("make") {
        member.make = cell.word("make", &MAKES)?;
    }
    let (class, product) = (row.take("class"), row.take("product"));
    member.material = product.or(class).map(|cell| cell.text.trim().into());
    if let Some(cell) = row.take("role") {
        member.role = cell.word("role", &ROLES)?;
    }
    member.place = match kind {
        MemberKind::Rafter => Place::PitchedRoof,
        MemberKind::Stud | MemberKind::Post | MemberKind::Plate | MemberKind::Lintel => Place::Wall,
        _ => Place::Floor,
    };
    if let Some(cell) = row.take("place") {
        member.place = cell.word("place", &PLACES)?;
    }
    member.load_bearing = row.take("load-bearing").map(|cell| cell.yes()).transpose()?;
    for cell in row.take_all("load") {
        let load = load(&cell, unit, &member)?;
        member.loads.extend(load);
    }
    Ok(member)
}

/// How its ends are held: hangers, and the length of the bearings.
fn seat(row: &mut Row, unit: TapeUnit, member: &mut Member) -> Result<(), SheetError> {
    let hung = row.take("hung").map_or(Ok([false; 2]), |cell| cell.word("answer", &HUNG))?;
    let seat = row.take("bearing").map_or(Ok(BEARING_BY_HAND_MM), |cell| cell.length(unit))?;
    let upright = member.bearings.first().is_some_and(|b| b.from_mm == b.to_mm);
    if upright {
        return Ok(());
    }
    let clear = member.spans.first().map_or(0.0, Span::length_mm);
    let [left, right] = hung.map(|hung| if hung { 0.0 } else { seat });
    member.length_mm = left + clear + right;
    let ends = [(0.0, left), (left + clear, member.length_mm)];
    for ((bearing, (from_mm, to_mm)), hung) in member.bearings.iter_mut().zip(ends).zip(hung) {
        (bearing.from_mm, bearing.to_mm) = (from_mm, to_mm);
        if hung {
            bearing.basis = Basis::Hanger;
            bearing.name = bearing.name.replace("support", "hanger").into();
        }
    }
    if let Some(span) = member.spans.first_mut() {
        (span.from_mm, span.to_mm) = (left, left + clear);
        span.basis = if hung.contains(&true) { Basis::Hanger } else { Basis::Stated };
    }
    Ok(())
}

/// A member on bearings measured from its left end: `0-100`, `3700-3800`.
fn on_bearings(
    cells: &[Cell],
    unit: TapeUnit,
    kind: MemberKind,
    section: Section,
) -> Result<Member, SheetError> {
    let mut at: Vec<[f64; 2]> = Vec::new();
    for cell in cells {
        for part in cell.text.split([',', ';']).filter(|part| !part.trim().is_empty()) {
            let [from, to] = stretch(cell, part, unit)?;
            if to < from || at.last().is_some_and(|last| last[1] >= from) {
                let help = "write them from the left end, for example 0-100, 3700-3800";
                return cell.wrong("these bearings are not in order", help);
            }
            at.push([from, to]);
        }
    }
    let ([first, .., last], Some(cell)) = (at.as_slice(), cells.first()) else {
        let span = cells.first().map_or(0..0, |cell| cell.span.clone());
        return Err(SheetError::new(span, "two bearings at least are needed", ""));
    };
    let mut member = member_by_hand(kind, section, (last[0] - first[1]).max(0.0));
    if first[0] > 0.0 && first[0] < 1.0 {
        return cell.wrong("the first bearing begins less than a millimetre in", "");
    }
    member.length_mm = last[1];
    member.bearings = at
        .iter()
        .enumerate()
        .map(|(n, [from_mm, to_mm])| Bearing {
            from_mm: *from_mm,
            to_mm: *to_mm,
            member: None,
            element: None,
            name: match n {
                0 => "the left support".into(),
                n if n + 1 == at.len() => "the right support".into(),
                n => format!("support {}", n + 1).into(),
            },
            basis: Basis::Stated,
            doubtful: false,
        })
        .collect();
    member.spans = at
        .windows(2)
        .enumerate()
        .map(|(n, pair)| Span {
            from_mm: pair[0][1],
            to_mm: pair[1][0],
            basis: Basis::Stated,
            from_bearing: u32::try_from(n).ok(),
            to_bearing: u32::try_from(n + 1).ok(),
        })
        .collect();
    Ok(member)
}

/// `900-1400`: from and to.
fn stretch(cell: &Cell, text: &str, unit: TapeUnit) -> Result<[f64; 2], SheetError> {
    let parts: Vec<&str> = if text.contains("..") {
        text.split("..").collect()
    } else if text.contains(" to ") {
        text.split(" to ").collect()
    } else {
        text.split(['-', '–']).collect()
    };
    let [from, to] = parts.as_slice() else {
        return cell.wrong(
            format!("`{}` is not a stretch from one place to another", text.trim()),
            "write for example 900-1400, or with fractions 3-1/2 in to 5-1/4 in",
        );
    };
    let read = |text: &str| read_tape(text, unit).map(|t| t.mm).or_else(|why| cell.wrong(why, ""));
    Ok([read(from)?, read(to)?])
}

/// `tank 800-1400`, `wall-along`: what stands on the deck; without a place, all along.
fn load(cell: &Cell, unit: TapeUnit, member: &Member) -> Result<Option<DeckLoad>, SheetError> {
    let text = cell.text.trim().to_lowercase();
    if matches!(text.as_str(), "no" | "none" | "false") {
        return Ok(None);
    }
    let at = text.find(|c: char| c.is_ascii_digit()).unwrap_or(text.len());
    let (what, place) = text.split_at(at);
    let named = Cell { text: what.trim().to_owned(), span: cell.span.clone() };
    let kind = named.word("load", &LOADS)?;
    let face = member.spans.first().map_or(0.0, |span| span.from_mm);
    let (from_mm, to_mm) = if place.is_empty() {
        (0.0, member.length_mm)
    } else if let Ok(taped) = read_tape(place, unit) {
        (face + taped.mm, face + taped.mm)
    } else {
        let [from, to] = stretch(cell, place, unit)?;
        (face + from, face + to)
    };
    Ok(Some(DeckLoad { kind, name: named.text, from_mm, to_mm }))
}

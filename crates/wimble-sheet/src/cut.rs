//! A cut as a sheet tells it: a service that passes, or a hole or notch that is measured.

use crate::error::SheetError;
use crate::row::{Cell, Row, pair};
use crate::service::read_service;
use crate::tape::TapeUnit;
use std::ops::Range;
use wimble_model::{Member, Service, ServiceShape, Span};

/// Keys of a cut.
pub(crate) const CUT_KEYS: &[&str] = &[
    "pipe", "cable", "duct", "name", "hole", "notch", "in", "at", "start", "end", "from", "up",
    "down", "existing",
];

/// Something that passes through a member or is cut in it.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetCut {
    /// What a person calls it.
    pub name: String,
    /// The service that passes, if one is named.
    pub service: Option<Service>,
    /// How the wood is opened for it.
    pub made: Made,
    /// Where along the member.
    pub place: CutPlace,
    /// It is there already.
    pub existing: bool,
    /// Where it stands in the text.
    pub span: Range<usize>,
}

/// How the wood is opened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Made {
    /// A service at this level: what it needs is worked out from its size and clearance.
    Passing(Level),
    /// A hole that is measured, or wanted as it is: width, height and level of its middle.
    Hole {
        /// Along the member and up the depth, mm.
        size_mm: [f64; 2],
        /// Bored, not sawn.
        round: bool,
        /// Where in the depth.
        level: Level,
    },
    /// A notch from an edge: width along the member and depth, mm.
    Notch {
        /// Along the member and into the depth, mm.
        size_mm: [f64; 2],
        /// In the top edge, not in the underside.
        top: bool,
    },
}

/// Where in the depth something lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Level {
    /// Its middle at mid-depth.
    Middle,
    /// Its middle so far above the underside, mm.
    Up(f64),
    /// Its middle so far below the top, mm.
    Down(f64),
    /// Let in flush with the top edge.
    TopEdge,
    /// Let in flush with the underside.
    BottomEdge,
}

impl Level {
    /// Height of the middle above mid-depth, for a thing this high in a member this deep, mm.
    #[must_use]
    pub fn above_middle_mm(self, height_mm: f64, depth_mm: f64) -> f64 {
        match self {
            Self::Middle => 0.0,
            Self::Up(mm) => mm - depth_mm / 2.0,
            Self::Down(mm) => depth_mm / 2.0 - mm,
            Self::TopEdge => (depth_mm - height_mm) / 2.0,
            Self::BottomEdge => (height_mm - depth_mm) / 2.0,
        }
    }
}

/// Where along a member the middle of a cut lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutPlace {
    /// How far from the datum, mm.
    pub at_mm: f64,
    /// From where.
    pub from: Datum,
}

/// What distances are taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Datum {
    /// The bearing face of the left support (the top of the bottom plate).
    Left,
    /// The bearing face of the right support (the underside of the top plate).
    Right,
    /// The left end of the timber.
    LeftEnd,
    /// Its right end.
    RightEnd,
}

impl CutPlace {
    /// The place along a member, mm from its x = 0; `None` where the member has no such face.
    #[must_use]
    pub fn x_mm(self, member: &Member) -> Option<f64> {
        let spans: &[Span] = &member.spans;
        match self.from {
            Datum::Left => spans.first().map(|span| span.from_mm + self.at_mm),
            Datum::Right => spans.last().map(|span| span.to_mm - self.at_mm),
            Datum::LeftEnd => Some(self.at_mm),
            Datum::RightEnd => Some(member.length_mm - self.at_mm),
        }
    }
}

pub(crate) const FROM: [(&str, Datum); 7] = [
    ("left", Datum::Left),
    ("right", Datum::Right),
    ("left-end", Datum::LeftEnd),
    ("right-end", Datum::RightEnd),
    ("bottom", Datum::Left),
    ("top", Datum::Right),
    ("bottom-plate", Datum::Left),
];
/// How a service is let in.
pub(crate) const IN: [(&str, Way); 5] = [
    ("hole", Way::Hole),
    ("notch", Way::Top),
    ("top-notch", Way::Top),
    ("top", Way::Top),
    ("bottom-notch", Way::Bottom),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    Hole,
    Top,
    Bottom,
}

pub(crate) fn read(
    mut row: Row,
    unit: TapeUnit,
    number: usize,
    member: &str,
    assumptions: &mut Vec<String>,
) -> Result<SheetCut, SheetError> {
    row.keys(CUT_KEYS)?;
    let span = row.span.clone();
    let service = service(&mut row, member, assumptions)?;
    let way = row.take("in").map(|cell| cell.word("way through", &IN)).transpose()?;
    let (hole, notch) = (row.take("hole"), row.take("notch"));
    let made = match (hole, notch) {
        (Some(hole), None) => a_hole(&mut row, &hole, unit, way)?,
        (None, Some(notch)) => {
            let top = way != Some(Way::Bottom);
            if way == Some(Way::Hole) {
                return notch.wrong("a notch is not a hole", "take `in` or `notch` out");
            }
            Made::Notch { size_mm: pair(&notch, unit)?, top }
        }
        (None, None) => passing(&mut row, service.as_ref(), unit, way)?,
        (Some(hole), Some(_)) => {
            return hole.wrong("a hole and a notch are both given", "give each its own entry");
        }
    };
    let place = place(&mut row, unit)?;
    let existing = row.take("existing").map_or(Ok(false), |cell| cell.yes())?;
    let name = row
        .take("name")
        .map(|cell| cell.text.trim().to_owned())
        .filter(|name| !name.is_empty())
        .or_else(|| service.as_ref().and_then(|s| s.element.name.as_ref().map(ToString::to_string)))
        .unwrap_or_else(|| format!("cut {number}"));
    row.done()?;
    let service = service.map(|mut service| {
        service.element.name = Some(name.as_str().into());
        service
    });
    Ok(SheetCut { name, service, made, place, existing, span })
}

fn service(
    row: &mut Row,
    member: &str,
    assumptions: &mut Vec<String>,
) -> Result<Option<Service>, SheetError> {
    for key in ["pipe", "cable", "duct"] {
        let Some(cell) = row.take(key) else { continue };
        // `cable = "10 mm"` says by its key what it is.
        let named = cell.text.to_lowercase().contains(key);
        let twin = cell.text.to_lowercase().contains("twin");
        let text = match (key, named || twin) {
            ("pipe", _) | (_, true) => cell.text.clone(),
            (key, false) => format!("{} {key}", cell.text),
        };
        let read = read_service(&text).or_else(|why| cell.wrong(why, ""))?;
        if let Some(said) = read.said {
            assumptions.push(format!("{member}, {said}"));
        }
        let mut service = read.service;
        service.element.name = Some(cell.text.trim().into());
        return Ok(Some(service));
    }
    Ok(None)
}

fn level(row: &mut Row, unit: TapeUnit) -> Result<Option<Level>, SheetError> {
    match (row.take("up"), row.take("down")) {
        (None, None) => Ok(None),
        (Some(up), None) => Ok(Some(Level::Up(up.length(unit)?))),
        (None, Some(down)) => Ok(Some(Level::Down(down.length(unit)?))),
        (Some(up), Some(_)) => up.wrong(
            "`up` and `down` are both given",
            "say how far its middle is above the underside, or how far below the top",
        ),
    }
}

fn a_hole(
    row: &mut Row,
    cell: &Cell,
    unit: TapeUnit,
    way: Option<Way>,
) -> Result<Made, SheetError> {
    if matches!(way, Some(Way::Top | Way::Bottom)) {
        return cell.wrong("a hole is not a notch", "take `in` or `hole` out");
    }
    let square = cell.text.contains(['x', '×', 'X', '*']);
    let size_mm = if square { pair(cell, unit)? } else { [cell.size(unit)?; 2] };
    let level = level(row, unit)?.unwrap_or(Level::Middle);
    Ok(Made::Hole { size_mm, round: !square, level })
}

fn passing(
    row: &mut Row,
    service: Option<&Service>,
    unit: TapeUnit,
    way: Option<Way>,
) -> Result<Made, SheetError> {
    if service.is_none() {
        return row.lacks(
            "nothing passes here and nothing is cut",
            "say pipe = \"22 mm copper\", hole = \"27 mm\" or notch = \"27 x 27\"",
        );
    }
    let given = level(row, unit)?;
    Ok(Made::Passing(match (given, way) {
        (Some(level), None | Some(Way::Hole)) => level,
        (None, None | Some(Way::Hole)) => Level::Middle,
        (None, Some(Way::Top)) => Level::TopEdge,
        (None, Some(Way::Bottom)) => Level::BottomEdge,
        (Some(_), Some(_)) => {
            return row.lacks(
                "a level is given for a pipe in a notch",
                "take `up` or `down` out: the pipe lies flush; or measure the notch: notch = \"27 x 27\"",
            );
        }
    }))
}

fn place(row: &mut Row, unit: TapeUnit) -> Result<CutPlace, SheetError> {
    let from = row.take("from").map_or(Ok(Datum::Left), |cell| cell.word("face", &FROM))?;
    let at_mm = match (row.take("at"), row.take("start"), row.take("end")) {
        (Some(at), None, None) => at.length(unit)?,
        (None, Some(start), Some(end)) => {
            let (a, b) = (start.length(unit)?, end.length(unit)?);
            if b <= a {
                return end.wrong("it ends before it starts", "");
            }
            f64::midpoint(a, b)
        }
        (Some(at), _, _) => {
            return at.wrong("`at` is given beside `start` or `end`", "say it one way");
        }
        (None, None, None) => {
            return row.lacks(
                "where along the member is missing",
                "say how far its middle is from the bearing face: at = 1170",
            );
        }
        (None, Some(cell), None) | (None, None, Some(cell)) => {
            return cell.wrong("`start` and `end` go together", "or say `at`: its middle");
        }
    };
    Ok(CutPlace { at_mm, from })
}

/// Outside size of a service along a member and up its depth, mm.
pub(crate) fn outside(service: &Service) -> [f64; 2] {
    match service.shape {
        ServiceShape::RoundMm(mm) => [mm, mm],
        ServiceShape::RectangleMm([a, b]) => [a, b],
        ServiceShape::Mesh | ServiceShape::Unknown => [0.0, 0.0],
    }
}

//! Several items of one element, or parts of one assembly: which of them are one member.

use super::{Across, Figure, Stick, stick};
use crate::scene::{MemberBody, Part, PartKind, PartShape};
use glam::DVec3;
use smallvec::{SmallVec, smallvec};
use thin_vec::ThinVec;
use wimble_geom::{Aabb, Mesh};
use wimble_model::Section;

/// Items touch if nearer than this, mm.
const TOUCH_MM: f64 = 1.0;
/// … over at least this much of the longer one's length.
const ALONG: f64 = 0.6;
/// Cosine under which two axes are parallel (about two degrees).
const PARALLEL: f64 = 0.999_4;
/// Chords of an open-web joist are at least this far apart, mm.
const LEAST_GAP_MM: f64 = 30.0;
/// Webs may stand this far out of the depth between chords (bolt heads, plates), mm.
const PROUD_MM: f64 = 5.0;

/// Cosines between a chord and a web that leans: 15 to 75 degrees.
const LEANING: std::ops::RangeInclusive<f64> = 0.259..=0.966;
/// Webs that lean in the shortest joist that is known by its shape alone.
const LEAST_LEANING: usize = 3;
/// A web this much of the chords' length leaves nothing open.
const BOARD: f64 = 0.9;

/// One member of several items.
#[derive(Debug, Clone)]
pub(crate) struct Joined {
    /// Positions of its items in the list given.
    pub(crate) items: Items,
    /// The member.
    pub(crate) stick: Box<Stick>,
}

/// Positions of items: nearly always one.
pub(crate) type Items = SmallVec<[usize; 2]>;

/// Members of one element: nearly always one.
pub(crate) type Members = SmallVec<[Joined; 1]>;

impl Joined {
    fn new(items: impl IntoIterator<Item = usize>, stick: Stick) -> Self {
        Self { items: items.into_iter().collect(), stick: Box::new(stick) }
    }
}

/// Members that the figures make: those that touch along their length are one, chords with webs
/// between them are one open-web joist, every other is its own. A figure that is no stick at all
/// is left out.
pub(crate) fn join(
    figures: SmallVec<[Figure; 1]>,
    across: Across,
    two_chords_are_one: bool,
) -> Members {
    let sticks: SmallVec<[(usize, Stick); 1]> = figures
        .into_iter()
        .enumerate()
        .filter_map(|(at, figure)| Some((at, stick(figure, across)?)))
        .collect();
    // Nearly every element is one.
    if sticks.len() < 2 {
        return sticks.into_iter().map(|(at, stick)| Joined::new([at], stick)).collect();
    }
    if let Some(stick) = open_web(&sticks, across, two_chords_are_one) {
        return smallvec![Joined::new(sticks.iter().map(|(at, _)| *at), stick)];
    }
    groups(&sticks)
        .into_iter()
        .filter_map(|group| {
            let items = group.iter().map(|&i| sticks[i].0);
            let stick = match group.as_slice() {
                [only] => sticks[*only].1.clone(),
                several => {
                    stick(Figure::union(several.iter().map(|&i| &sticks[i].1.figure)), across)?
                }
            };
            Some(Joined::new(items, stick))
        })
        .collect()
}

/// Positions of sticks that touch along their length, each group sorted, groups by their first.
fn groups(sticks: &[(usize, Stick)]) -> Vec<Vec<usize>> {
    let mut leader: Vec<usize> = (0..sticks.len()).collect();
    let order = by_x(sticks);
    for (n, &i) in order.iter().enumerate() {
        let one = sticks[i].1.figure.world_box().grown(TOUCH_MM / 1000.0);
        for &j in &order[n + 1..] {
            let other = sticks[j].1.figure.world_box();
            if other.min.x > one.max.x {
                break;
            }
            if one.touches(other) && touch_along(&sticks[i].1, &sticks[j].1, ALONG) {
                let (a, b) = (lead(&leader, i), lead(&leader, j));
                leader[a.max(b)] = a.min(b);
            }
        }
    }
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); sticks.len()];
    for i in 0..sticks.len() {
        groups[lead(&leader, i)].push(i);
    }
    groups.retain(|group| !group.is_empty());
    groups
}

fn by_x(sticks: &[(usize, Stick)]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..sticks.len()).collect();
    let least = |i: &usize| sticks[*i].1.figure.world_box().min.x;
    order.sort_by(|a, b| least(a).total_cmp(&least(b)).then(a.cmp(b)));
    order
}

fn lead(leader: &[usize], mut i: usize) -> usize {
    while leader[i] != i {
        i = leader[i];
    }
    i
}

/// Whether two pieces are parallel and touch within 1 mm over at least `share` of the longer.
pub(crate) fn touch_along(a: &Stick, b: &Stick, share: f64) -> bool {
    if a.frame.x.dot(b.frame.x).abs() < PARALLEL {
        return false;
    }
    let long = if a.length_mm >= b.length_mm { a } else { b };
    let other = if a.length_mm >= b.length_mm { b } else { a };
    let one = long.local_box();
    let two = boxed_in(long, &other.figure);
    let overlap = one.intersection(two);
    overlap.max.x - overlap.min.x >= share * long.length_mm
        && two.min.y - one.max.y <= TOUCH_MM
        && one.min.y - two.max.y <= TOUCH_MM
        && two.min.z - one.max.z <= TOUCH_MM
        && one.min.z - two.max.z <= TOUCH_MM
}

/// Box of a figure in a stick's frame, mm.
pub(crate) fn boxed_in(stick: &Stick, figure: &Figure) -> Aabb {
    Aabb::of(figure.points().iter().map(|p| stick.frame.local_mm(*p + figure.base)))
}

/// Two chords held apart by webs; `bare`: its name says so.
fn open_web(sticks: &[(usize, Stick)], across: Across, bare: bool) -> Option<Stick> {
    let mut by_length: Vec<usize> = (0..sticks.len()).collect();
    by_length
        .sort_by(|&a, &b| sticks[b].1.length_mm.total_cmp(&sticks[a].1.length_mm).then(a.cmp(&b)));
    let chords = [*by_length.first()?, *by_length.get(1)?];
    let [one, two] = chords.map(|i| &sticks[i].1);
    let parallel = one.frame.x.dot(two.frame.x).abs() > PARALLEL;
    if !parallel || two.length_mm < 0.8 * one.length_mm || (sticks.len() < 4 && !bare) {
        return None;
    }
    let whole = stick(Figure::union([&one.figure, &two.figure]), across)?;
    let boxes = [one, two].map(|chord| boxed_in(&whole, &chord.figure));
    let (low, high) = if boxes[0].max.z <= boxes[1].min.z { (0, 1) } else { (1, 0) };
    let gap = [boxes[low].max.z, boxes[high].min.z];
    if gap[1] - gap[0] < LEAST_GAP_MM {
        return None;
    }
    let webs: Vec<&Stick> =
        (0..sticks.len()).filter(|i| !chords.contains(i)).map(|i| &sticks[i].1).collect();
    // One board all along is the web of an I-joist.
    let board = |web: &&Stick| {
        matches!(web.section, Section::Rectangle { .. })
            && web.length_mm >= BOARD * one.length_mm
            && web.frame.x.dot(one.frame.x).abs() > PARALLEL
    };
    if webs.iter().any(board) {
        return None;
    }
    // A frame of a window or a door has two long pieces and cross pieces as well, some of them
    // mitred: without a name, only a row of webs that lean tells a joist.
    let leans = |web: &&&Stick| LEANING.contains(&web.frame.x.dot(whole.frame.x).abs());
    let leaning = webs.iter().filter(leans).count();
    if !bare && (leaning < LEAST_LEANING || 2 * leaning < webs.len()) {
        return None;
    }
    let all_between = webs.iter().all(|web| {
        let place = boxed_in(&whole, &web.figure);
        place.min.z > boxes[low].min.z - PROUD_MM
            && place.max.z < boxes[high].max.z + PROUD_MM
            && place.min.z < gap[0] + PROUD_MM
            && place.max.z > gap[1] - PROUD_MM
    });
    if !all_between {
        return None;
    }
    let mut parts: Vec<Part> =
        [low, high].map(|c| part(&whole, &[one, two][c].figure, PartKind::Chord)).into();
    parts.extend(webs.iter().map(|web| part(&whole, &web.figure, PartKind::Strut)));
    let chord_mm = boxes.iter().map(|b| b.size().z).fold(0.0, f64::max);
    let section = Section::OpenWeb {
        breadth_mm: boxes.iter().map(|b| b.size().y).fold(0.0, f64::max),
        depth_mm: whole.section.depth_mm(),
        chord_mm,
        webs_known: !webs.is_empty(),
    };
    let figure = Figure::union(sticks.iter().map(|(_, s)| &s.figure));
    Some(Stick { section, varies: false, body: MemberBody { parts }, figure, ..whole })
}

/// A figure as a part in a stick's frame: a box if it is one along the axes.
fn part(stick: &Stick, figure: &Figure, kind: PartKind) -> Part {
    let points: Vec<DVec3> =
        figure.points().iter().map(|p| stick.frame.local_mm(*p + figure.base)).collect();
    let bounds = Aabb::of(points.iter().copied());
    let at_corner =
        |p: &DVec3| (*p - bounds.min).abs().min((*p - bounds.max).abs()).max_element() < 0.01;
    let shape = if points.len() == 8 && points.iter().all(at_corner) {
        PartShape::Box { bounds, ends: ThinVec::new() }
    } else {
        PartShape::Mesh(Mesh { chord: 1000.0 * figure.chord(), ..figure.with_points(points) })
    };
    Part { kind, shape }
}

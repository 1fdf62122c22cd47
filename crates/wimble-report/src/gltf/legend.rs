//! The legend: a board with words before the model.

use super::buffer::{Buffer, Placing};
use super::tones;
use crate::drawing::{Anchor, INK, Pen, Svg, TIMBER, png, tone};
use crate::{Report, Summary, say};
use glam::{DQuat, DVec3};
use wimble_geom::Aabb;
use wimble_model::Verdict;

/// What every output says of itself.
pub(super) const CAUTION: &str = "A check of geometry and published rules, not a structural \
                                  design. Local code and a licensed person decide.";

/// Size of the board's picture, in its units; height of a row.
const WIDTH: f64 = 640.0;
const ROW: f64 = 24.0;
/// Dots a unit.
const SCALE: f32 = 2.0;

/// What the marks and tones mean, row by row.
fn rows(report: &Report) -> Vec<(Option<Verdict>, String)> {
    let counts = Summary::of(report).verdicts;
    let row = |verdict: Verdict, count: usize, shape: &str, means: &str| {
        (Some(verdict), format!("{}: {count} ({shape}). {means}", verdict.word()))
    };
    vec![
        row(Verdict::Fail, counts.fail, "cross", "Breaks a rule."),
        row(Verdict::Refer, counts.refer, "disc", "Only an engineer or the maker can say."),
        row(Verdict::Unknown, counts.unknown, "dashed square", "A fact is missing."),
        row(Verdict::Pass, counts.pass, "solid square", "Every rule that applies holds."),
        (None, "Members have the tone of their worst cut; timber: all pass, or none.".into()),
    ]
}

/// The legend as plain lines, for those who do not see the picture.
pub(super) fn lines(report: &Report) -> Vec<String> {
    let rows = rows(report).into_iter().map(|(_, text)| text);
    [Summary::sentence(report)].into_iter().chain(rows).chain([CAUTION.to_owned()]).collect()
}

/// The picture as PNG, and its size in units. `None` if it cannot be made: the words are in the
/// node's extras all the same.
pub(super) fn picture(report: &Report) -> Option<(Vec<u8>, [f64; 2])> {
    let mut svg = Svg::default();
    let mut y = 30.0;
    svg.heading([20.0, y], "Cuts in timber members");
    for line in textwrap::wrap(&say::plain(&Summary::sentence(report)), 88) {
        y += 20.0;
        svg.text([20.0, y], Anchor::Start, INK, &line);
    }
    for (verdict, text) in rows(report) {
        y += ROW;
        swatch(&mut svg, [28.0, y - 4.0], verdict);
        svg.text([48.0, y], Anchor::Start, INK, &text);
    }
    y += 4.0;
    for line in textwrap::wrap(CAUTION, 88) {
        y += 20.0;
        svg.text([20.0, y], Anchor::Start, INK, &line);
    }
    let height = y + 20.0;
    let text = svg.finish(WIDTH, height, "Legend");
    Some((png(&text, SCALE).ok()?, [WIDTH, height]))
}

/// The mark as seen from the member's side.
fn swatch(svg: &mut Svg, [x, y]: [f64; 2], verdict: Option<Verdict>) {
    let Some(verdict) = verdict else {
        svg.rectangle([x - 8.0, y - 5.0], [16.0, 10.0], TIMBER, Some(Pen::fine(INK)));
        return;
    };
    let tone = tone(verdict);
    let bar = Pen { width: 4.0, ..Pen::outline(tone) };
    match verdict {
        Verdict::Pass => svg.rectangle([x - 7.0, y - 7.0], [14.0, 14.0], tone, None),
        Verdict::Fail => {
            svg.line([x - 7.0, y - 7.0], [x + 7.0, y + 7.0], bar);
            svg.line([x - 7.0, y + 7.0], [x + 7.0, y - 7.0], bar);
        }
        Verdict::Refer => svg.circle([x, y], 8.0, tone, None),
        Verdict::Unknown => {
            let dashed = Pen { width: 2.5, ..Pen::outline(tone) }.dashed("5 3");
            svg.rectangle([x - 7.0, y - 7.0], [14.0, 14.0], "none", Some(dashed));
        }
    }
}

/// The board: upright before the model's least corner, facing −Y, readable beside it.
pub(super) fn board(
    buffer: &mut Buffer,
    picture: Vec<u8>,
    [width, height]: [f64; 2],
    bounds: Aabb,
    origin: DVec3,
) -> (usize, Placing) {
    buffer.picture(&picture);
    let corners = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [1.0, 0.0, 1.0], [0.0, 0.0, 1.0]];
    let on_picture = [[0.0, 1.0], [1.0, 1.0], [1.0, 0.0], [0.0, 0.0]];
    let triangles = [[0, 1, 2], [0, 2, 3]];
    let mesh = buffer.board("legend", &corners, &on_picture, &triangles, tones::LEGEND);
    let reach = bounds.size().length().max(1.0);
    let broad = 0.3 * reach;
    let at = bounds.min - DVec3::new(0.0, 0.06 * reach, 0.0) - origin;
    let stretch = DVec3::new(broad, 1.0, broad * height / width);
    (mesh, Placing { at, turn: DQuat::IDENTITY, stretch })
}

//! Pictures held against pictures that a person has looked at.
//!
//! A picture that differs leaves three panels side by side in `tests/out/pictures/`: as it was, as
//! it is, where they differ. After looking at them, `WIMBLE_GOLDEN=overwrite` takes the new ones.

use super::{elevation, png, snapshot_svg, write_plan};
use crate::{Report, fixture};
use glam::DVec3;
use resvg::tiny_skia::{ColorU8, Pixmap, PixmapPaint, PremultipliedColorU8, Transform};
use std::path::{Path, PathBuf};
use wimble_geom::{Cylinder, Solid};
use wimble_model::{Cut, CutIx, CutKind, MemberIx, MemberKind, Section, Verdict};

/// Dots for each unit: goldens are kept small.
const SCALE: f32 = 0.6;
/// A channel of a dot may differ by this much: machines round the edges of letters differently.
const NEAR: u8 = 40;
/// So many dots of a thousand may differ by more.
const FEW: usize = 1;

#[test]
fn the_elevation_is_the_one_that_was_looked_at() {
    let report = place();
    let drawn = elevation(&report, MemberIx(1)).unwrap();
    looks_as_before("elevation", &drawn.svg());
}

#[test]
fn the_snapshot_is_the_one_that_was_looked_at() {
    let title = "J2: notch 27 wide and 27 deep in the top, heating pipe “Flow”, 22 mm: 977 mm from \
                 the face of W-S; at most 900 mm is allowed";
    let (svg, _) = snapshot_svg(&place(), MemberIx(1), Some(CutIx(2)), title).unwrap();
    looks_as_before("snapshot", &svg);
}

#[test]
fn the_plan_is_the_one_that_was_looked_at() {
    let mut svg = Vec::new();
    write_plan(&place(), &mut svg).unwrap();
    looks_as_before("plan", &String::from_utf8(svg).unwrap());
}

#[test]
fn an_i_joist_is_the_one_that_was_looked_at() {
    let mut report = place();
    let section =
        Section::IJoist { breadth_mm: 45.0, depth_mm: 220.0, flange_mm: 38.0, web_mm: 10.0 };
    report.members[1].section = section;
    let ix = hole_of_j2(&report);
    let hole = &mut report.cuts[ix.at()];
    hole.kind = CutKind::WebHole;
    (hole.min_mm.y, hole.max_mm.y) = (-5.0, 5.0);
    let (svg, _) = snapshot_svg(&report, MemberIx(1), Some(ix), "J2: hole 48").unwrap();
    looks_as_before("i-joist", &svg);
}

#[test]
fn what_stands_upright_is_the_one_that_was_looked_at() {
    let mut report = place();
    let hole = report.cuts.swap_remove(hole_of_j2(&report).at());
    report.findings.clear();
    let member = &mut report.members[1];
    member.kind = MemberKind::Stud;
    member.section = Section::Rectangle { breadth_mm: 47.0, depth_mm: 89.0 };
    member.frame.x = DVec3::Z;
    member.frame.z = DVec3::Y;
    // The pipe passes along the wall, through the middle of the stud.
    let middle = member.frame.origin_m + DVec3::Z * hole.mid_x_mm() / 1000.0;
    let (from, to) = (middle - DVec3::X, middle + DVec3::X);
    let pipe = Cylinder { from, to, radius: 0.0215, inner: None };
    report.service_solids = vec![Some(Solid::Cylinder(pipe)), None, None, None];
    report.cuts = vec![Cut { depth_mm: 89.0, verdict: Verdict::Fail, ..hole }];
    let (svg, _) = snapshot_svg(&report, MemberIx(1), Some(CutIx(0)), "A stud").unwrap();
    looks_as_before("upright", &svg);
}

/// The hole in the second joist.
fn hole_of_j2(report: &Report) -> CutIx {
    let is_it = |cut: &Cut| cut.member == MemberIx(1) && cut.kind == CutKind::Hole;
    CutIx::from(report.cuts.iter().position(is_it).unwrap())
}

/// The fixture with the bodies of its pipes.
fn place() -> Report {
    let mut report = fixture::report();
    let bar = |x: f64, z: f64, radius: f64| {
        let at = |y: f64| DVec3::new(x, y, 2.51 + z);
        Some(Solid::Cylinder(Cylinder { from: at(-0.6), to: at(1.6), radius, inner: None }))
    };
    report.service_solids = vec![bar(1.213, 0.0, 0.0215), bar(0.9635, 0.0965, 0.011), None, None];
    report
}

fn looks_as_before(name: &str, svg: &str) {
    let now = Pixmap::decode_png(&png(svg, SCALE).unwrap()).unwrap();
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let golden = here.join("src/drawing/goldens").join(format!("{name}.png"));
    #[expect(clippy::disallowed_methods, reason = "a test is told by the environment")]
    if std::env::var("WIMBLE_GOLDEN").as_deref() == Ok("overwrite") {
        now.save_png(&golden).unwrap();
        return;
    }
    let before = Pixmap::load_png(&golden).unwrap();
    let same_size = (before.width(), before.height()) == (now.width(), now.height());
    let differing = before.pixels().iter().zip(now.pixels()).filter(|(a, b)| differ(**a, **b));
    let most = before.pixels().len() * FEW / 1000;
    if same_size && differing.count() <= most {
        return;
    }
    let panels = panels(&before, &now, &here.join("../../tests/out/pictures"), name);
    panic!("{name} has changed: look at {}, then WIMBLE_GOLDEN=overwrite", panels.display());
}

fn differ(a: PremultipliedColorU8, b: PremultipliedColorU8) -> bool {
    let channels = |c: ColorU8| [c.red(), c.green(), c.blue()];
    let pairs = channels(a.demultiply()).into_iter().zip(channels(b.demultiply()));
    pairs.into_iter().any(|(a, b)| a.abs_diff(b) > NEAR)
}

/// As it was, as it is, where they differ (in ink on paper), side by side.
fn panels(before: &Pixmap, now: &Pixmap, folder: &Path, name: &str) -> PathBuf {
    let (width, height) = (before.width().max(now.width()), before.height().max(now.height()));
    let mut sheet = Pixmap::new(3 * width, height).unwrap();
    let mut put = |picture: &Pixmap, column: u32| {
        let x = i32::try_from(column * width).unwrap();
        let (paint, still) = (PixmapPaint::default(), Transform::identity());
        sheet.draw_pixmap(x, 0, picture.as_ref(), &paint, still, None);
    };
    put(before, 0);
    put(now, 1);
    let mut difference = Pixmap::new(width, height).unwrap();
    for y in 0..height {
        for x in 0..width {
            let other = match (before.pixel(x, y), now.pixel(x, y)) {
                (Some(a), Some(b)) => differ(a, b),
                _ => true,
            };
            let [r, g, b] = if other { [0x1f, 0x2a, 0x33] } else { [0xfb, 0xf8, 0xf1] };
            let at = usize::try_from(y * width + x).unwrap();
            difference.pixels_mut()[at] = PremultipliedColorU8::from_rgba(r, g, b, 255).unwrap();
        }
    }
    put(&difference, 2);
    std::fs::create_dir_all(folder).unwrap();
    let path = folder.join(format!("{name}.png"));
    sheet.save_png(&path).unwrap();
    path
}

/// The comparison itself can fail: one moved line is seen.
#[test]
fn another_picture_is_told_apart_and_leaves_three_panels() {
    let dots = |svg: &str| Pixmap::decode_png(&png(svg, SCALE).unwrap()).unwrap();
    let report = place();
    let svg = elevation(&report, MemberIx(1)).unwrap().svg();
    let a = dots(&svg);
    let c = dots(&svg.replace("#1F2A33", "#FBF8F1"));
    let differing = a.pixels().iter().zip(c.pixels()).filter(|(a, b)| differ(**a, **b)).count();
    assert!(differing > a.pixels().len() * FEW / 1000);
    let folder = std::env::temp_dir().join("wimble-panels");
    let path = panels(&a, &c, &folder, "told-apart");
    let sheet = Pixmap::load_png(&path).unwrap();
    assert_eq!((sheet.width(), sheet.height()), (3 * a.width(), a.height()));
}

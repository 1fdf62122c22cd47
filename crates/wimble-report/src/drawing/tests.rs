use super::*;
use glam::DVec3;
use wimble_model::*;

fn joist() -> Member {
    let bearing = |from_mm, to_mm, name: &str| Bearing {
        from_mm,
        to_mm,
        member: None,
        element: None,
        name: name.into(),
        basis: Basis::Contact,
        doubtful: false,
    };
    Member {
        element: Element::default(),
        kind: MemberKind::Joist,
        role: None,
        with: [].into(),
        duplicates: [].into(),
        storey: None,
        place: Place::Floor,
        material: Some("C24".into()),
        make: TimberMake::Solid,
        section: Section::Rectangle { breadth_mm: 47.0, depth_mm: 220.0 },
        varies: false,
        length_mm: 3800.0,
        frame: Frame { origin_m: DVec3::ZERO, x: DVec3::X, z: DVec3::Z },
        bearings: [bearing(0.0, 100.0, "wall W-S"), bearing(3700.0, 3800.0, "wall W-SP")].into(),
        spans: [Span {
            from_mm: 100.0,
            to_mm: 3700.0,
            basis: Basis::Contact,
            from_bearing: Some(0),
            to_bearing: Some(1),
        }]
        .into(),
        spans_without_doubtful: None,
        open_ends: [].into(),
        loads: [DeckLoad {
            kind: DeckLoadKind::Vessel,
            name: "cylinder".into(),
            from_mm: 2400.0,
            to_mm: 2900.0,
        }]
        .into(),
        load_bearing: None,
        notes: [].into(),
    }
}

fn cut(kind: CutKind, edge: Edge, x: [f64; 2], z: [f64; 2], verdict: Verdict) -> Cut {
    Cut {
        member: MemberIx(0),
        services: vec![].into(),
        openings: vec![].into(),
        sizes_known: true,
        kind,
        edge,
        shape: CutShape::Round,
        span: Some(0),
        shared: 1,
        min_mm: DVec3::new(x[0], -23.5, z[0]),
        max_mm: DVec3::new(x[1], 23.5, z[1]),
        bit_mm: (x[1] - x[0]).max(z[1] - z[0]),
        skew_deg: 0.0,
        depth_mm: 220.0,
        breadth_mm: 47.0,
        margin_mm: None,
        tight: false,
        obligations: vec![].into(),
        verdict,
        besides: Besides::default(),
    }
}

/// A failing notch, a hole to refer, a hole out of its zone; a cylinder on the deck.
fn example(show: impl Fn(&Elevation<'_>)) {
    let member = joist();
    let cuts = [
        cut(CutKind::TopNotch, Edge::Top, [883.5, 916.5], [77.0, 110.0], Verdict::Fail),
        cut(CutKind::Hole, Edge::None, [1176.0, 1224.0], [-12.9, 36.0], Verdict::Refer),
        cut(CutKind::Hole, Edge::None, [1791.5, 1808.5], [-8.5, 8.5], Verdict::Fail),
    ];
    let drawn = |i: usize, service: &str, broken: Option<&str>, proposal| DrawnCut {
        cut: &cuts[i],
        mark: format!("A-09/{}", i + 1),
        service: service.into(),
        broken: broken.map(Into::into),
        proposal,
    };
    let elevation = Elevation {
        heading: "A-09   47 × 220 C24 joist, 3800 long, First floor".into(),
        member: &member,
        cuts: vec![
            drawn(
                0,
                "28 gas",
                Some("33 deep, at most 27.5 here"),
                Some(Proposal { along_mm: -100.0, depth_mm: 0.0 }),
            ),
            drawn(
                1,
                "43 bath waste",
                Some("centre 11 above mid-depth, at most 6.6"),
                Some(Proposal { along_mm: 0.0, depth_mm: -11.5 }),
            ),
            drawn(
                2,
                "12 cable",
                Some("1692 from the face, holes end at 1440"),
                Some(Proposal { along_mm: -268.0, depth_mm: 0.0 }),
            ),
        ],
        strips: vec![
            Strip {
                title: "where a hole of 48 may be, mm from the left end".into(),
                windows: vec![[1000.0, 1540.0], [2260.0, 2800.0]],
                nowhere: String::new(),
            },
            Strip {
                title: "where a notch 27.5 deep may be".into(),
                windows: vec![[352.0, 1000.0], [2800.0, 3448.0]],
                nowhere: String::new(),
            },
        ],
    };
    show(&elevation);
}

#[test]
fn every_cut_says_what_it_is_where_it_is_and_what_breaks() {
    example(|elevation| {
        let svg = elevation.svg();
        for words in [
            "A-09/1 · notch 33 wide and 33 deep in the top · 28 gas",
            "783.5 mm from the face of wall W-S",
            "fail: 33 deep, at most 27.5 here",
            "refer: centre 11 above mid-depth, at most 6.6",
            "clear span 3600",
            "33 cut",
            "187 below",
            "cylinder",
        ] {
            assert!(svg.contains(words), "the drawing does not say {words:?}");
        }
    });
}

#[test]
fn the_same_scale_serves_both_directions() {
    example(|elevation| {
        let sheet = sheet::Sheet::new(elevation.member, &[]);
        let wide = sheet.x(1000.0) - sheet.x(0.0);
        let deep = sheet.z(-500.0) - sheet.z(500.0);
        assert!((wide - deep).abs() < 1e-9, "{wide} along, {deep} down");
    });
}

#[test]
fn a_long_member_is_drawn_as_a_stretch_with_an_overview() {
    example(|elevation| {
        let mut member = elevation.member.clone();
        member.length_mm = 12_000.0;
        let long = Elevation { member: &member, ..elevation.clone() };
        assert!(long.svg().contains("not to scale"));
        assert!(!elevation.svg().contains("not to scale"));
    });
}

#[test]
fn a_picture_is_a_png_of_the_size_asked_for() {
    example(|elevation| {
        let dots = png(&elevation.svg(), 1.5).expect("a picture");
        assert_eq!(&dots[1..4], b"PNG");
        let width = u32::from_be_bytes([dots[16], dots[17], dots[18], dots[19]]);
        assert_eq!(width, 1500);
    });
}

#[test]
fn a_report_is_drawn_member_by_member_the_worst_first() {
    let report = crate::fixture::report();
    let mut out = Vec::new();
    write(&report, &mut out).expect("written");
    let svg = String::from_utf8(out).expect("text");
    let first = svg.find("✕").or_else(|| svg.find("fail:")).expect("a cut that fails");
    let last = svg.rfind("refer").expect("a cut to refer");
    assert!(first < last);
}

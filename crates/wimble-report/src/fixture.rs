//! One small report that every format is tested on: hand-made values, no computing.

use crate::{Input, Pack, Report, Warning};
use glam::DVec3;
use wimble_model::{
    Action, Basis, Bearing, Besides, Bound, CoverageRow, CoverageStatus, Cut, CutIx, CutKind,
    CutShape, Edge, Element, Finding, Frame, Lagging, Level, Limit, Measured, Member, MemberIx,
    MemberKind, Note, Obligation, ObligationKind, Opening, OpeningIx, OpeningSource, Place, Remedy,
    Role, Section, Service, ServiceIx, ServiceKind, ServiceMaterial, ServiceShape, Span, Storey,
    TimberMake, Trade, Unit, Verdict,
};

/// Five members on two storeys, four services, six cuts of all verdicts; a repeated GlobalId, a
/// hostile name, a missing span.
pub(crate) fn report() -> Report {
    let mut report = Report {
        inputs: vec![
            input("structure.ifc", "IFC4", "mm", 5120),
            input("services.ifc", "IFC2X3", "m", 812),
        ],
        packs: vec![Pack {
            id: "uk-solid-joist".into(),
            version: "0123456789ab".into(),
            title: "Solid timber joists, United Kingdom".into(),
            sources: vec!["LABC, notches and holes (published)".into()],
            rules: vec![crate::Rule {
                id: "uk-solid-joist/hole-size".into(),
                what: "A hole is at most a quarter of the depth".into(),
                more: vec![("Why".into(), "wood at mid-depth carries shear".into())],
            }],
        }],
        assumptions: vec![
            "Rules: United Kingdom (stated)".into(),
            "Joist size for its span: not checked".into(),
        ],
        warnings: vec![Warning {
            input: Some(1),
            line: Some(77),
            text: "the string is not closed; it was read to the end of its line".into(),
        }],
        storeys: vec![storey("Ground", 0.0), storey("Level 1", 2.62)],
        members: vec![
            joist("1aJoist", "J1", Some(1), 0.0),
            joist("2bJoist", "J2", Some(1), 0.4),
            ply(),
            no_span(),
            joist("9zJoist", "J9 <b>\u{1b}[31m", Some(1), 1.2),
        ],
        services: vec![
            pipe("5pPipe", "Bath waste", Trade::Waste, 43.0, 0),
            pipe("6pPipe", "Flow", Trade::Heating, 22.0, 1),
            pipe("6pPipe", "Return", Trade::Heating, 22.0, 2),
            duct(),
        ],
        service_centres_m: vec![
            DVec3::new(1.2, 0.5, 2.5),
            DVec3::new(1.7, 0.5, 2.5),
            DVec3::new(1.8, 0.5, 2.5),
            DVec3::new(2.4, 0.5, 2.5),
        ],
        openings: vec![Opening {
            element: element(0, 900, "7oOpen", "IfcOpeningElement", None),
            member: MemberIx(1),
            source: OpeningSource::Element,
            touches: false,
        }],
        ..Report::default()
    };
    report.cuts = vec![
        hole(0, &[0], 1189.0, 48.0, Verdict::Pass),
        hole(0, &[3], 2300.0, 105.0, Verdict::Fail),
        top_notch(1, &[1], 950.0, 27.0, Verdict::Fail),
        Cut { openings: vec![OpeningIx(0)].into(), ..hole(1, &[0], 1189.0, 48.0, Verdict::Pass) },
        hole(2, &[1, 2], 1400.0, 50.0, Verdict::Refer),
        Cut { span: None, ..hole(3, &[2], 700.0, 27.0, Verdict::Unknown) },
    ];
    report.cuts[0].tight = true;
    report.cuts[0].margin_mm = Some(3.04);
    report.cuts[0].obligations = vec![Obligation {
        kind: ObligationKind::NailPlate,
        rule: "uk-solid-joist/cover".into(),
        text: "fix a steel plate over the pipe before the deck".into(),
    }]
    .into();
    report.findings = findings();
    report.coverage = coverage();
    report.sort();
    report
}

fn findings() -> Vec<Finding> {
    vec![
        Finding {
            measured: Some(Measured { value: 105.0, unit: Unit::Mm }),
            limit: Some(Limit { value: 55.0, unit: Unit::Mm, bound: Bound::AtMost }),
            remedies: [remedy(Action::Turn, "Run the duct along the joists instead.")].into(),
            ..finding(
                "hole-size",
                0,
                &[1],
                &[3],
                Verdict::Fail,
                "The hole is 105 mm high and 55 mm is the most in a joist 220 mm deep.",
            )
        },
        Finding {
            remedies: [
                remedy(Action::MoveAlong { by_mm: -77.0 }, "Move the pipe 77 mm towards wall W-S."),
                remedy(Action::Smaller { to_mm: 15.0 }, "Use a 15 mm pipe."),
            ]
            .into(),
            measured: Some(Measured { value: 977.0, unit: Unit::Mm }),
            limit: Some(Limit { value: 900.0, unit: Unit::Mm, bound: Bound::AtMost }),
            ..finding(
                "notch",
                1,
                &[2],
                &[1],
                Verdict::Fail,
                "The notch reaches 977 mm from the face of wall W-S; notches end at 900 mm.",
            )
        },
        finding(
            "plies",
            2,
            &[4],
            &[1, 2],
            Verdict::Refer,
            "J3 is one of two plies that act together: multiple beams need a calculation.",
        ),
        finding(
            "span",
            3,
            &[5],
            &[2],
            Verdict::Unknown,
            "No bearing was found at the east end, so the span is not known.",
        ),
        Finding {
            waived: None,
            ..finding(
                "cut-as-one",
                1,
                &[2, 3],
                &[0, 1],
                Verdict::Pass,
                "15 mm of wood is left between the two: cut as one.",
            )
        },
    ]
}

fn coverage() -> Vec<CoverageRow> {
    let row = |input, class: &str, count, status, reason: &str, example: &str| CoverageRow {
        input,
        class: class.into(),
        status,
        reason: reason.into(),
        count,
        examples: vec![example.into()],
    };
    vec![
        row(0, "IfcBeam", 5, CoverageStatus::Member, "timber by material", "1aJoist"),
        row(0, "IfcOpeningElement", 1, CoverageStatus::Opening, "voids a member", "7oOpen"),
        row(
            0,
            "IfcSlab",
            1,
            CoverageStatus::Unreadable,
            "its shape is an IfcBSplineSurface",
            "8sSlab",
        ),
        row(0, "IfcWall", 2, CoverageStatus::Support, "carries members", "3wWall"),
        row(1, "IfcFlowSegment", 4, CoverageStatus::Service, "by its type", "5pPipe"),
    ]
}

fn finding(
    rule: &str,
    member: u32,
    cuts: &[u32],
    services: &[u32],
    verdict: Verdict,
    message: &str,
) -> Finding {
    Finding {
        rule: format!("uk-solid-joist/{rule}").into(),
        level: Level::of(verdict),
        verdict,
        member: MemberIx(member),
        cuts: cuts.iter().copied().map(CutIx).collect(),
        services: services.iter().copied().map(ServiceIx).collect(),
        measured: None,
        limit: None,
        message: message.into(),
        source: "LABC, notches and holes (published)".into(),
        waived: None,
        remedies: [].into(),
    }
}

fn remedy(action: Action, text: &str) -> Remedy {
    Remedy { action, services: Vec::new(), text: text.into() }
}

fn input(path: &str, schema: &str, unit: &str, instances: u64) -> Input {
    Input {
        path: path.into(),
        blake3: blake3::hash(path.as_bytes()).to_hex().to_string(),
        schema: schema.into(),
        length_unit: unit.into(),
        instances,
        partial: false,
        project: Some("0pProject0000000000000".into()),
        written: "2026-01-02T03:04:05".into(),
    }
}

fn storey(name: &str, elevation_m: f64) -> Storey {
    Storey { name: name.into(), elevation_m: Some(elevation_m) }
}

fn element(input: u32, instance: u64, guid: &str, class: &str, name: Option<&str>) -> Element {
    Element {
        input,
        instance,
        guid: guid.into(),
        class: class.into(),
        name: name.map(Into::into),
        tag: None,
        item: None,
    }
}

fn bearing(from_mm: f64, to_mm: f64, name: &str) -> Bearing {
    Bearing {
        from_mm,
        to_mm,
        member: None,
        element: Some(element(0, 50, name, "IfcWall", Some(name)).into()),
        name: format!("wall {name}").into(),
        basis: Basis::Contact,
        doubtful: false,
    }
}

/// 47 × 220 along X, 100 mm on a wall at each end, clear span 3600.
fn joist(guid: &str, name: &str, storey: Option<u32>, y: f64) -> Member {
    Member {
        element: element(0, 100, guid, "IfcBeam", Some(name)),
        kind: MemberKind::Joist,
        role: None,
        with: [].into(),
        duplicates: [].into(),
        storey,
        place: Place::Floor,
        material: Some("C24 softwood".into()),
        make: TimberMake::Solid,
        section: Section::Rectangle { breadth_mm: 47.0, depth_mm: 220.0 },
        varies: false,
        length_mm: 3800.0,
        frame: Frame { origin_m: DVec3::new(0.0, y, 2.51), x: DVec3::X, z: DVec3::Z },
        bearings: [bearing(0.0, 100.0, "W-S"), bearing(3700.0, 3800.0, "W-SP")].into(),
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
        loads: [].into(),
        load_bearing: None,
        notes: [].into(),
    }
}

fn ply() -> Member {
    Member {
        role: Some(Role::Ply),
        with: [MemberIx(4)].into(),
        ..joist("3cJoist", "J3", Some(1), 0.8)
    }
}

fn no_span() -> Member {
    let mut member = joist("4dJoist", "J4", None, 1.0);
    member.bearings.truncate(1);
    member.spans.clear();
    member.open_ends = [wimble_model::End::Finish].into();
    member.notes = [Note::from("the name says 44x120, it is modelled 47 × 220")].into();
    member
}

fn pipe(guid: &str, name: &str, trade: Trade, diameter: f64, run: u32) -> Service {
    Service {
        element: element(1, 200, guid, "IfcFlowSegment", Some(name)),
        kind: ServiceKind::Pipe,
        trade,
        material: ServiceMaterial::Plastic,
        system: Some("First floor".into()),
        run,
        storey: Some(1),
        shape: ServiceShape::RoundMm(diameter),
        lagging: Lagging::None,
        notes: [].into(),
    }
}

fn duct() -> Service {
    Service {
        kind: ServiceKind::Duct,
        shape: ServiceShape::RectangleMm([220.0, 90.0]),
        system: None,
        ..pipe("8dDuct", "Extract", Trade::Air, 100.0, 3)
    }
}

fn hole(member: u32, services: &[u32], x0: f64, size: f64, verdict: Verdict) -> Cut {
    Cut {
        member: MemberIx(member),
        services: services.iter().copied().map(ServiceIx).collect(),
        openings: vec![].into(),
        sizes_known: true,
        kind: CutKind::Hole,
        edge: Edge::None,
        shape: CutShape::Round,
        span: Some(0),
        shared: u32::try_from(services.len()).unwrap(),
        min_mm: DVec3::new(x0, -23.5, -size / 2.0),
        max_mm: DVec3::new(x0 + size, 23.5, size / 2.0),
        bit_mm: size,
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

fn top_notch(member: u32, services: &[u32], x0: f64, depth: f64, verdict: Verdict) -> Cut {
    let mut cut = hole(member, services, x0, depth, verdict);
    cut.kind = CutKind::TopNotch;
    cut.edge = Edge::Top;
    cut.min_mm.z = 110.0 - depth;
    cut.max_mm.z = 110.0;
    cut
}

/// The outside material of the tests; without it a test says that it was skipped, and under CI it
/// fails.
pub(crate) fn shared(test: &str) -> Option<std::path::PathBuf> {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared");
    #[expect(clippy::disallowed_methods, reason = "a test finds its material by the environment")]
    let (told, ci) = (std::env::var("WIMBLE_SHARED"), std::env::var("CI"));
    let path = std::path::PathBuf::from(told.unwrap_or_else(|_| root.into()));
    if path.is_dir() {
        return Some(path);
    }
    assert_ne!(ci.as_deref(), Ok("true"), "{test}: no ../shared");
    println!("skipped: {test}: no ../shared");
    None
}

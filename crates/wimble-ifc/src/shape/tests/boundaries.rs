use super::*;
use wimble_geom::Mesh;

fn mesh(data: &str) -> Mesh {
    match solid(data) {
        Solid::Mesh(mesh) => mesh,
        other => panic!("not a mesh: {other:?}"),
    }
}

/// The corners of a unit cube: point i has x, y and z in its bits. Faces wound outward.
const CORNERS: &str =
    "((0.,0.,0.),(1.,0.,0.),(0.,1.,0.),(1.,1.,0.),(0.,0.,1.),(1.,0.,1.),(0.,1.,1.),(1.,1.,1.))";
const FACES: [[usize; 4]; 6] =
    [[1, 3, 4, 2], [5, 6, 8, 7], [1, 2, 6, 5], [3, 7, 8, 4], [1, 5, 7, 3], [2, 4, 8, 6]];

/// A cube as poly loops; `turned` faces are written the wrong way round, `without` are left out.
fn cube_brep(turned: &[usize], without: &[usize]) -> String {
    let mut data = String::from("#100=IFCFACETEDBREP(#200);\n");
    for i in 0..8 {
        data +=
            &format!("#{}=IFCCARTESIANPOINT(({}.,{}.,{}.));\n", 201 + i, i & 1, i >> 1 & 1, i >> 2);
    }
    let mut names = Vec::new();
    for (f, face) in FACES.iter().enumerate().filter(|(f, _)| !without.contains(f)) {
        let mut ring: Vec<String> = face.iter().map(|i| format!("#{}", 200 + i)).collect();
        if turned.contains(&f) {
            ring.reverse();
        }
        let own = 300 + 10 * f;
        data += &format!(
            "#{own}=IFCFACE((#{}));\n#{}=IFCFACEOUTERBOUND(#{},.T.);\n#{}=IFCPOLYLOOP(({}));\n",
            own + 1,
            own + 1,
            own + 2,
            own + 2,
            ring.join(",")
        );
        names.push(format!("#{own}"));
    }
    data + &format!("#200=IFCCLOSEDSHELL(({}));\n", names.join(","))
}

#[test]
fn a_brep_is_closed_and_its_normals_point_outward_whatever_the_file_says() {
    for turned in [&[][..], &[0], &[0, 1, 2, 3, 4, 5], &[1, 4]] {
        let cube = mesh(&cube_brep(turned, &[]));
        assert!(cube.closed, "{turned:?}");
        near(cube.volume(), 1.0);
    }
}

#[test]
fn a_brep_without_a_face_is_open_and_one_with_a_bad_face_is_read_without_it() {
    assert!(!mesh(&cube_brep(&[], &[2])).closed);
    let bad = cube_brep(&[], &[])
        .replace("#302=IFCPOLYLOOP((#201,#203,#204,#202))", "#302=IFCPOLYLOOP((#201,#203,#999))");
    let body = body("IFC4", &bad);
    assert!(matches!(&body.items[0].solid, Ok(Solid::Mesh(mesh)) if !mesh.closed));
    assert!(body.remarks[0].text.contains("1 of 6 faces"), "{:?}", body.remarks);
}

#[test]
fn a_face_may_have_a_hole_and_its_bounds_come_in_any_order() {
    let ring = |first: usize, low: f64, high: f64| {
        let corners = [(low, low), (high, low), (high, high), (low, high)];
        let points: String = corners
            .iter()
            .enumerate()
            .map(|(i, (x, y))| format!("#{}=IFCCARTESIANPOINT(({x:?},{y:?},0.));\n", first + i))
            .collect();
        points
            + &format!(
                "#{}=IFCPOLYLOOP((#{},#{},#{},#{}));\n",
                first + 9,
                first,
                first + 1,
                first + 2,
                first + 3
            )
    };
    let data = format!(
        "#100=IFCFACEBASEDSURFACEMODEL((#101));\n#101=IFCCONNECTEDFACESET((#102));\n#102=IFCFACE((#103,#104));\n#103=IFCFACEBOUND(#219,.T.);\n#104=IFCFACEBOUND(#239,.T.);\n{}{}",
        ring(210, 0.25, 0.75),
        ring(230, 0.0, 1.0)
    );
    let face = mesh(&data);
    near(face.area(), 0.75);
}

#[test]
fn voids_of_a_brep_are_hollow() {
    let cube = cube_brep(&[], &[]);
    // A small cube inside, written outward as a shell of its own.
    let mut inner = String::new();
    for i in 0..8 {
        let at = |b: usize| 0.25 + 0.5 * (i >> b & 1) as f64;
        inner +=
            &format!("#{}=IFCCARTESIANPOINT(({:?},{:?},{:?}));\n", 501 + i, at(0), at(1), at(2));
    }
    let mut names = Vec::new();
    for (f, face) in FACES.iter().enumerate() {
        let own = 600 + 10 * f;
        let ring: Vec<String> = face.iter().map(|i| format!("#{}", 500 + i)).collect();
        inner += &format!(
            "#{own}=IFCFACE((#{}));\n#{}=IFCFACEOUTERBOUND(#{},.T.);\n#{}=IFCPOLYLOOP(({}));\n",
            own + 1,
            own + 1,
            own + 2,
            own + 2,
            ring.join(",")
        );
        names.push(format!("#{own}"));
    }
    let data = cube
        .replace("#100=IFCFACETEDBREP(#200);", "#100=IFCFACETEDBREPWITHVOIDS(#200,(#500));")
        + &inner
        + &format!("#500=IFCCLOSEDSHELL(({}));\n", names.join(","));
    near(mesh(&data).volume(), 1.0 - 0.125);
}

#[test]
fn face_sets_count_from_one_and_go_through_pn_index() {
    let quads: Vec<String> = FACES
        .iter()
        .enumerate()
        .map(|(f, q)| {
            format!("#{}=IFCINDEXEDPOLYGONALFACE(({},{},{},{}));", 300 + f, q[0], q[1], q[2], q[3])
        })
        .collect();
    let polygonal = format!(
        "#100=IFCPOLYGONALFACESET(#101,.T.,(#300,#301,#302,#303,#304,#305),$);\n#101=IFCCARTESIANPOINTLIST3D({CORNERS});\n{}",
        quads.join("\n")
    );
    near(mesh(&polygonal).volume(), 1.0);
    let triangles = |shift: usize| -> String {
        let all: Vec<String> = FACES
            .iter()
            .flat_map(|q| {
                [
                    format!("({},{},{})", q[0] + shift, q[1] + shift, q[2] + shift),
                    format!("({},{},{})", q[0] + shift, q[2] + shift, q[3] + shift),
                ]
            })
            .collect();
        all.join(",")
    };
    let plain = format!(
        "#100=IFCTRIANGULATEDFACESET(#101,$,.T.,({}),$);\n#101=IFCCARTESIANPOINTLIST3D({CORNERS});",
        triangles(0)
    );
    near(mesh(&plain).volume(), 1.0);
    let through = format!(
        "#100=IFCTRIANGULATEDFACESET(#101,$,.T.,({}),(9,9,1,2,3,4,5,6,7,8));\n#101=IFCCARTESIANPOINTLIST3D({CORNERS});",
        triangles(2)
    );
    near(mesh(&through).volume(), 1.0);
}

#[test]
fn triangles_that_name_points_beyond_the_list_are_left_out_with_a_remark() {
    let body = body(
        "IFC4",
        &format!(
            "#100=IFCTRIANGULATEDFACESET(#101,$,.F.,((1,2,3),(1,2,99),(0,1,2)),$);\n#101=IFCCARTESIANPOINTLIST3D({CORNERS});"
        ),
    );
    assert!(matches!(&body.items[0].solid, Ok(Solid::Mesh(mesh)) if mesh.triangles.len() == 1));
    assert!(body.remarks[0].text.contains("2 triangles"));
}

#[test]
fn a_face_set_without_triangles_says_so() {
    assert!(trouble(&format!("#100=IFCTRIANGULATEDFACESET(#101,$,.F.,(),$);\n#101=IFCCARTESIANPOINTLIST3D({CORNERS});")).contains("no surface"));
}

/// A bar of radius 1 m and 2 m height as an advanced brep: two planes and a cylinder with a seam.
fn bar_brep(side: &str) -> String {
    format!(
        "#100=IFCADVANCEDBREP(#101);
#101=IFCCLOSEDSHELL((#110,#120,#130));
#140=IFCCARTESIANPOINT((1.,0.,0.));
#141=IFCCARTESIANPOINT((1.,0.,2.));
#142=IFCVERTEXPOINT(#140);
#143=IFCVERTEXPOINT(#141);
#144=IFCCIRCLE(#14,1.);
#145=IFCAXIS2PLACEMENT3D(#146,#11,#12);
#146=IFCCARTESIANPOINT((0.,0.,2.));
#147=IFCCIRCLE(#145,1.);
#148=IFCEDGECURVE(#142,#142,#144,.T.);
#149=IFCEDGECURVE(#143,#143,#147,.T.);
#150=IFCEDGECURVE(#142,#143,#151,.T.);
#151=IFCLINE(#140,#152);
#152=IFCVECTOR(#11,1.);
#110=IFCADVANCEDFACE((#111),#112,.F.);
#111=IFCFACEOUTERBOUND(#113,.T.);
#112=IFCPLANE(#14);
#113=IFCEDGELOOP((#114));
#114=IFCORIENTEDEDGE(*,*,#148,.F.);
#120=IFCADVANCEDFACE((#121),#122,.T.);
#121=IFCFACEOUTERBOUND(#123,.T.);
#122=IFCPLANE(#145);
#123=IFCEDGELOOP((#124));
#124=IFCORIENTEDEDGE(*,*,#149,.T.);
{side}
#160=IFCORIENTEDEDGE(*,*,#148,.T.);
#161=IFCORIENTEDEDGE(*,*,#150,.T.);
#162=IFCORIENTEDEDGE(*,*,#149,.F.);
#163=IFCORIENTEDEDGE(*,*,#150,.F.);
"
    )
}

const WITH_SEAM: &str = "#131=IFCFACEOUTERBOUND(#133,.T.);\n#133=IFCEDGELOOP((#160,#161,#162,#163));\n#130=IFCADVANCEDFACE((#131),#132,.T.);";
const WITHOUT_SEAM: &str = "#131=IFCFACEOUTERBOUND(#133,.T.);\n#133=IFCEDGELOOP((#160));\n#134=IFCFACEBOUND(#135,.T.);\n#135=IFCEDGELOOP((#162));\n#130=IFCADVANCEDFACE((#131,#134),#132,.T.);";

#[test]
fn a_round_bar_s_faces_close_with_a_seam_or_without() {
    let cylinder = "#132=IFCCYLINDRICALSURFACE(#14,1.);";
    let extrusion = "#132=IFCSURFACEOFLINEAREXTRUSION(#170,$,#11,2.);\n#170=IFCARBITRARYOPENPROFILEDEF(.CURVE.,$,#144);";
    let turned = "#132=IFCSURFACEOFREVOLUTION(#170,$,#172);\n#170=IFCARBITRARYOPENPROFILEDEF(.CURVE.,$,#171);\n#171=IFCPOLYLINE((#140,#141));\n#172=IFCAXIS1PLACEMENT(#10,#11);";
    for surface in [cylinder, extrusion, turned] {
        for side in [WITH_SEAM, WITHOUT_SEAM] {
            let bar = mesh(&bar_brep(&format!("{side}\n{surface}")));
            assert!(bar.closed, "{surface} {side}");
            about(bar.volume(), 2.0 * PI, 3e-3);
            spans(bar.bounds(), [-1.0, -1.0, 0.0], [1.0, 1.0, 2.0]);
        }
    }
}

#[test]
fn a_ball_and_half_a_ball_are_closed_over_their_poles() {
    let ball = mesh(
        "#100=IFCADVANCEDBREP(#101);
#101=IFCCLOSEDSHELL((#110));
#110=IFCADVANCEDFACE((#111),#112,.T.);
#111=IFCFACEOUTERBOUND(#113,.T.);
#112=IFCSPHERICALSURFACE(#14,1.);
#113=IFCVERTEXLOOP(#114);
#114=IFCVERTEXPOINT(#115);
#115=IFCCARTESIANPOINT((0.,0.,1.));",
    );
    assert!(ball.closed);
    about(ball.volume(), 4.0 / 3.0 * PI, 5e-3);
    let half = mesh(
        "#100=IFCADVANCEDBREP(#101);
#101=IFCCLOSEDSHELL((#110,#120));
#110=IFCADVANCEDFACE((#111),#112,.T.);
#111=IFCFACEOUTERBOUND(#113,.T.);
#112=IFCSPHERICALSURFACE(#14,1.);
#113=IFCEDGELOOP((#114));
#114=IFCORIENTEDEDGE(*,*,#115,.T.);
#115=IFCEDGECURVE(#116,#116,#117,.T.);
#116=IFCVERTEXPOINT(#118);
#117=IFCCIRCLE(#14,1.);
#118=IFCCARTESIANPOINT((1.,0.,0.));
#120=IFCADVANCEDFACE((#121),#122,.F.);
#121=IFCFACEOUTERBOUND(#123,.T.);
#122=IFCPLANE(#14);
#123=IFCEDGELOOP((#124));
#124=IFCORIENTEDEDGE(*,*,#115,.F.);",
    );
    assert!(half.closed);
    spans(half.bounds(), [-1.0, -1.0, 0.0], [1.0, 1.0, 1.0]);
    about(half.volume(), 2.0 / 3.0 * PI, 5e-3);
}

#[test]
fn a_torus_bend_follows_its_two_circles() {
    // A quarter bend of a bar of 0.1 m about z, its middle on a circle of 0.5 m.
    let bend = mesh(
        "#100=IFCADVANCEDBREP(#101);
#101=IFCCLOSEDSHELL((#110,#120,#130));
#140=IFCAXIS2PLACEMENT3D(#141,#142,#12);
#141=IFCCARTESIANPOINT((0.5,0.,0.));
#142=IFCDIRECTION((0.,-1.,0.));
#143=IFCCIRCLE(#140,0.1);
#144=IFCAXIS2PLACEMENT3D(#145,#12,#13);
#145=IFCCARTESIANPOINT((0.,0.5,0.));
#146=IFCCIRCLE(#144,0.1);
#147=IFCVERTEXPOINT(#148);
#148=IFCCARTESIANPOINT((0.6,0.,0.));
#149=IFCVERTEXPOINT(#150);
#150=IFCCARTESIANPOINT((0.,0.6,0.));
#151=IFCEDGECURVE(#147,#147,#143,.T.);
#152=IFCEDGECURVE(#149,#149,#146,.T.);
#110=IFCADVANCEDFACE((#111),#112,.T.);
#111=IFCFACEOUTERBOUND(#113,.T.);
#112=IFCPLANE(#140);
#113=IFCEDGELOOP((#114));
#114=IFCORIENTEDEDGE(*,*,#151,.T.);
#120=IFCADVANCEDFACE((#121),#122,.F.);
#121=IFCFACEOUTERBOUND(#123,.T.);
#122=IFCPLANE(#144);
#123=IFCEDGELOOP((#124));
#124=IFCORIENTEDEDGE(*,*,#152,.F.);
#130=IFCADVANCEDFACE((#131,#134),#132,.T.);
#131=IFCFACEOUTERBOUND(#133,.T.);
#132=IFCTOROIDALSURFACE(#14,0.5,0.1);
#133=IFCEDGELOOP((#160));
#134=IFCFACEBOUND(#135,.T.);
#135=IFCEDGELOOP((#162));
#160=IFCORIENTEDEDGE(*,*,#151,.F.);
#162=IFCORIENTEDEDGE(*,*,#152,.T.);",
    );
    assert!(bend.closed);
    about(bend.volume(), PI * 0.01 * PI / 4.0, 6e-3);
    spans(bend.bounds(), [0.0, 0.0, -0.1], [0.6, 0.6, 0.1]);
}

#[test]
fn a_face_on_an_unknown_surface_is_stretched_between_its_edges_with_a_remark() {
    let side = format!("{WITH_SEAM}\n#132=IFCCYLINDRICALSURFACE(#14,1.);");
    let data = bar_brep(&side).replace("#122=IFCPLANE(#145);", "#122=IFCOFFSETSURFACE(#14,1.);");
    let body = body("IFC4", &data);
    assert!(matches!(&body.items[0].solid, Ok(Solid::Mesh(mesh)) if mesh.closed));
    let told: Vec<&str> = body.remarks.iter().map(|r| r.text.as_str()).collect();
    assert!(told[0].contains("IFCOFFSETSURFACE #122") && told[0].contains("stretched"), "{told:?}");
}

use super::*;
use crate::fixture;
use wimble_model::MemberIx;

/// J1 has a failing cut; J9 passes with one hole, J2 is left out.
fn report() -> Report {
    let mut report = fixture::report();
    let mut hole = report.cuts[0].clone();
    hole.member = MemberIx(4);
    report.cuts.push(hole);
    let cut = CutIx::from(report.cuts.len() - 1);
    report.members[4].element.name = Some("J9".into());
    let datum = |end, x_mm, bearing| Datum { end, x_mm, bearing: Some(bearing) };
    let member = |member, cuts| MarkedMember {
        member: MemberIx(member),
        datum: datum(End::Finish, 3700.0, 1),
        check: datum(End::Start, 100.0, 0),
        cuts,
        ask: vec![],
    };
    let row = MarkedCut {
        cut,
        from_datum_mm: vec![2487.0],
        top_mm: 110.0,
        bottom_mm: 110.0,
        bit_mm: 48.0,
        listed: true,
        notch_mm: None,
        spare_mm: Some(3.0),
        stops_mm: Some([2184.0, 2676.0]),
    };
    report.marking = Some(Marking {
        issue: Issue { number: "M-03".into(), issue: "B".into(), ..Issue::default() },
        members: vec![member(0, vec![]), member(4, vec![row])],
    });
    report
}

fn text(write: impl Fn(&Report, &mut Vec<u8>) -> io::Result<()>, report: &Report) -> String {
    let mut out = Vec::new();
    write(report, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn a_joist_is_measured_from_one_face_and_checked_from_the_other() {
    let page = text(html, &report());
    for words in [
        "bare face of wall W-SP, before lining",
        "bare face of wall W-S, before lining",
        ">2487<",
        ">1113<",
        "2184 to 2676",
        "M-03",
        "Measured by",
        "nail plate",
    ] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn a_joist_that_does_not_pass_is_not_to_be_cut() {
    let page = text(html, &report());
    assert!(page.contains("<b>J1</b></td><td>DO NOT CUT, ask reference 1</td>"));
    let table = text(csv, &report());
    assert!(table.contains("DO NOT CUT, ask reference 1"));
    assert!(table.contains("J9,CUT,1,hole"));
}

#[test]
fn neither_rules_nor_global_ids_are_printed() {
    let mut report = report();
    report.members[4].element.name = None;
    let page = text(html, &report);
    for hidden in ["uk-solid-joist/", "9zJoist", "1aJoist", "5pPipe"] {
        assert!(!page.contains(hidden), "{hidden}");
    }
    assert!(page.contains("joist without a mark, no. 5"));
}

#[test]
fn names_are_only_text() {
    let mut report = report();
    report.members[4].element.name = Some("=<script>alert(1)</script>".into());
    assert!(!text(html, &report).contains("<script>"));
    assert!(text(csv, &report).contains("'=<script>"));
}

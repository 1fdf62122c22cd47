//! What exporters get wrong, one fault at a time in a file that is good otherwise: what of it a
//! user sees, and that the cut is still found. The wording of each message is held by `wimble-step`.

use wimble::{Input, Settings};

/// A joist with a pipe through it.
const GOOD: &str = "ISO-10303-21;
HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME('n','2026-01-01T00:00:00',(''),(''),'','','');
FILE_SCHEMA(('IFC4'));
ENDSEC;
DATA;
#1=IFCPROJECT('0000000000000000000001',$,$,$,$,$,$,(#4),#2);
#2=IFCUNITASSIGNMENT((#3));
#3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
#4=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-05,#6,$);
#5=IFCCARTESIANPOINT((0.,0.,0.));
#6=IFCAXIS2PLACEMENT3D(#5,$,$);
#7=IFCLOCALPLACEMENT($,#6);
#8=IFCDIRECTION((0.,0.,1.));
#10=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,220.,47.);
#11=IFCDIRECTION((1.,0.,0.));
#12=IFCAXIS2PLACEMENT3D(#5,#11,#8);
#13=IFCEXTRUDEDAREASOLID(#10,#12,#8,4000.);
#14=IFCSHAPEREPRESENTATION(#4,'Body','SweptSolid',(#13));
#15=IFCPRODUCTDEFINITIONSHAPE($,$,(#14));
#16=IFCBEAM('0000000000000000000002',$,'Joist',$,$,#7,#15,$,.JOIST.);
#17=IFCMATERIAL('C24',$,$);
#18=IFCRELASSOCIATESMATERIAL('0000000000000000000003',$,$,$,(#16),#17);
#20=IFCCIRCLEPROFILEDEF(.AREA.,$,$,11.);
#21=IFCDIRECTION((0.,1.,0.));
#22=IFCCARTESIANPOINT((1500.,-100.,0.));
#23=IFCAXIS2PLACEMENT3D(#22,#21,#11);
#24=IFCEXTRUDEDAREASOLID(#20,#23,#8,200.);
#25=IFCSHAPEREPRESENTATION(#4,'Body','SweptSolid',(#24));
#26=IFCPRODUCTDEFINITIONSHAPE($,$,(#25));
#27=IFCPIPESEGMENT('0000000000000000000004',$,'Pipe',$,$,#7,#26,$,$);
ENDSEC;
END-ISO-10303-21;
";

/// One fault: what is exchanged for what, and what a user sees of it.
struct Fault {
    what: &'static str,
    from: &'static str,
    to: &'static [u8],
    /// Whether the file counts as read in part.
    partial: bool,
    /// What the warnings say, one each; nothing else is warned of.
    told: &'static [&'static str],
    /// The joist's name in the report.
    name: &'static str,
    /// A class whose elements end otherwise than in a cut: its row of the coverage.
    lost: Option<(&'static str, &'static str)>,
}

/// A fault that is read past without a word, since nothing is lost by it.
const fn quiet(what: &'static str, from: &'static str, to: &'static [u8]) -> Fault {
    Fault { what, from, to, partial: false, told: &[], name: "Joist", lost: None }
}

impl Fault {
    /// A remark.
    const fn told(self, told: &'static [&'static str]) -> Self {
        Self { told, ..self }
    }

    /// The file counts as read in part.
    const fn damage(self, told: &'static [&'static str]) -> Self {
        Self { told, partial: true, ..self }
    }

    const fn named(self, name: &'static str) -> Self {
        Self { name, ..self }
    }

    /// The element has nothing to cut or be cut by, and its row of the coverage says so.
    const fn lost(self, class: &'static str, status: &'static str) -> Self {
        Self { lost: Some((class, status)), ..self }
    }
}

const TYPED: &str = "'Joist'";

/// What exporters get wrong as `standards/NOTES.md` 1.4 lists it, in its order, and what stands
/// beside it.
fn faults() -> Vec<Fault> {
    vec![
        quiet("none", "ISO", b"ISO"),
        quiet("text in UTF-8", TYPED, b"'Joist \xc3\xa4'").named("Joist ä"),
        quiet("text in Windows-1252", TYPED, b"'Joist \xe4 \x96'")
            .named("Joist ä –")
            .told(&["bytes that are not UTF-8"]),
        quiet("a byte order mark", "ISO-10303-21;\nHEADER", b"\xef\xbb\xbfISO-10303-21;\nHEADER"),
        quiet("a path with single backslashes", TYPED, b"'C:\\Users\\Joist'")
            .named("C:\\Users\\Joist")
            .told(&["#16: in a text: a backslash that opens no control directive"]),
        quiet("a backslash doubled before a directive", TYPED, b"'\\\\X2\\00E4\\X0\\'")
            .named("\\X2\\00E4\\X0\\")
            .told(&["#16: in a text: a backslash that opens no"]),
        quiet("octets in directives that are not closed", TYPED, b"'\\X\\C3\\X96 Joist'")
            .named("Ã\\X96 Joist")
            .told(&["#16: in a text: "]),
        quiet("half a surrogate pair", TYPED, b"'\\X2\\D800\\X0\\ Joist'")
            .named("\u{fffd} Joist")
            .told(&["#16: in a text: \\X2\\ holds half of a surrogate pair"]),
        quiet("small hexadecimal letters", TYPED, b"'\\X2\\00e4\\X0\\ Joist'").named("ä Joist"),
        quiet("an empty directive", TYPED, b"'\\X2\\\\X0\\Joist'"),
        quiet("a shifted apostrophe", TYPED, b"'Joist \\S\\''").named("Joist §"),
        quiet("a shifted X before a shifted letter", TYPED, b"'Joist \\S\\X\\S\\r'")
            .named("Joist Øò"),
        quiet("a real without a dot", "4000.);", b"4E3);"),
        quiet("a real with a small e and no dot", "1.E-05", b"1e-05"),
        quiet("a real with a small e", "1500.,", b"1.5e3,"),
        quiet("a dot too many", "1500.,", b"1.5E3.,"),
        quiet("an integer for a real", "4000.);", b"4000);"),
        quiet("line ends in a number", "4000.);", b"40\r\n00.);"),
        quiet("a line end in a keyword", "IFCBEAM", b"IFC\rBEAM"),
        quiet("line ends in a text", TYPED, b"'Jo\r\nist'"),
        quiet("line ends in an instance", "#16=IFCBEAM(", b"#16=\n\tIFCBEAM\n("),
        quiet("no brackets round one reference", "(#14)", b"#14"),
        quiet("a comma behind the last", "(#14)", b"(#14,)"),
        quiet("a comma too many", "'Joist',$", b"'Joist',,$")
            .damage(&["parameter 4 of #16 is left out"])
            .lost("IfcBeam", "no-shape"),
        quiet("a list of nothing", "(#25)", b"()").lost("IfcPipeSegment", "no-shape"),
        quiet("$ for a list that has to be", "'SweptSolid',(#24)", b"'SweptSolid',$")
            .lost("IfcPipeSegment", "no-shape"),
        quiet("a directive left open at the end", TYPED, b"'Joist \\X2\\00E4'")
            .named("Joist ä")
            .told(&["is not closed by \\X0\\"]),
        quiet("a directive left open before another", TYPED, b"'Joist \\X2\\00E4\\X\\E4'")
            .named("Joist ää")
            .told(&["is not closed by \\X0\\"]),
        quiet("five entries in FILE_NAME", ",'','','');\nFILE_SCHEMA", b",'');\nFILE_SCHEMA")
            .told(&["FILE_NAME has 5"]),
        quiet("$ in FILE_NAME", "'2026-01-01T00:00:00',('')", b"$,$"),
        quiet("a name twice", "#17=", b"#16=IFCBEAM($);\n#17=")
            .damage(&["#16 stands twice in the file"]),
        quiet("a plus in a name", "#17=IFCM", b"#+17=IFCM").damage(&["written #+17"]),
        quiet("the name #0", "#17=IFCM", b"#0=IFCOWNERHISTORY($);\n#17=IFCM"),
        quiet("a placement that is not in the file", "$,$,#7,#26", b"$,$,#999,#26")
            .told(&["#27: IFCPIPESEGMENT refers to #999, which the file does not have"])
            .lost("IfcPipeSegment", "unreadable"),
        quiet("a shape that is not in the file", "$,$,#7,#26", b"$,$,#7,#999")
            .lost("IfcPipeSegment", "unreadable"),
        quiet("a material that is not in the file", "(#16),#17)", b"(#16),#999)")
            .told(&["refers to #999, which the file does not have", "relates nothing"]),
        quiet("a figure that is none", "#8,4000.);", b"#8,40x00.);")
            .damage(&["parameter 4 of #13 (\"40x00.\") cannot be read"])
            .lost("IfcBeam", "unreadable"),
        quiet("an infinite figure", "$,11.);", b"$,1.#INF);")
            .damage(&["holds a number that is infinite"])
            .lost("IfcPipeSegment", "unreadable"),
        quiet("words between two parameters", "$,$,#7,#26", b"$,$,#7 x,#26")
            .damage(&["parameter 6 of #27"]),
        quiet("a text without its end", "#17=", b"#30=IFCMATERIAL('x,$,$);\n#17=")
            .damage(&["has no closing apostrophe"]),
        quiet("no ENDSEC", "ENDSEC;\nEND-ISO", b"END-ISO").told(&["has no ENDSEC"]),
        quiet("cut short", "ENDSEC;\nEND-ISO-10303-21;\n", b"").damage(&["cut short"]),
        quiet("a GlobalId with more characters", "0000000000000000000002", b"{0000-0000}-x")
            .told(&["a malformed GlobalId (not of 22 characters): `{0000-0000}-x` of #16 IfcBeam “Joist”"]),
        quiet("a GlobalId that is a UUID", "0000000000000000000002", b"f70dd363-bfe3-495d-84a0-2c02dcb7d4d2")
            .told(&["not of 22 characters"]),
        quiet("a GlobalId with a blank", "0000000000000000000002", b"000000000000000000 002")
            .told(&["with blanks"]),
        quiet("a GlobalId of other letters", "0000000000000000000002", b"0000000000000000-00002")
            .told(&["with other characters than 0-9 A-Z a-z _ $"]),
        quiet("a GlobalId over 128 bits", "0000000000000000000002", b"Z000000000000000000002")
            .told(&["not beginning with 0, 1, 2 or 3"]),
        quiet("an empty GlobalId", "0000000000000000000002", b"")
            .told(&["an element has no GlobalId: #16 IfcBeam “Joist”. It stays in and goes by file and place"]),
        quiet("no GlobalId", "'0000000000000000000002'", b"$")
            .told(&["an element has no GlobalId"]),
        quiet("a GlobalId twice", "0000000000000000000004", b"0000000000000000000002")
            .told(&["repeats a GlobalId"]),
        quiet("attributes too few", ",$,.JOIST.);", b");"),
        quiet("attributes too many", "$,.JOIST.);", b"$,.JOIST.,$,$);"),
        quiet("the layout of another schema", "IFC4", b"IFC2X3")
            .told(&["IFCPIPESEGMENT is not a class of IFC2X3"]),
        quiet("a semicolon too many", "#17=", b";#17="),
        quiet("a comment with a path in it", "#17=", b"/*C:\\TEMP'*/#17="),
    ]
}

fn with(fault: &Fault) -> Vec<u8> {
    let at = GOOD.find(fault.from);
    let at = at.unwrap_or_else(|| panic!("{}: the file has no {:?}", fault.what, fault.from));
    let rest = &GOOD.as_bytes()[at + fault.from.len()..];
    [&GOOD.as_bytes()[..at], fault.to, rest].concat()
}

#[test]
fn a_fault_costs_no_cut_and_what_is_odd_is_told() {
    let mut wrong = Vec::new();
    for fault in faults() {
        let text = with(&fault);
        let input = Input::new("faulty.ifc", text.as_slice());
        let what = fault.what;
        let report = match wimble::check(&[input], &Settings::default()) {
            Ok(report) => report,
            Err(error) => {
                wrong.push(format!("{what}: {error}"));
                continue;
            }
        };
        let mut bytes = Vec::new();
        wimble_report::json::write(&report, &mut bytes).expect("writing to memory");
        let json: serde_json::Value = serde_json::from_slice(&bytes).expect("JSON");
        let warnings = super::warnings(&json);
        let cuts = json["cuts"].as_array().map_or(0, Vec::len);
        if cuts != usize::from(fault.lost.is_none()) {
            wrong.push(format!("{what}: {cuts} cuts, {warnings:?}"));
        }
        if json["inputs"][0]["partial"].as_bool().unwrap_or(false) != fault.partial {
            wrong.push(format!("{what}: partial is not {}: {warnings:?}", fault.partial));
        }
        if fault.partial && json["cuts"][0]["verdict"] == "pass" {
            wrong.push(format!("{what}: passes although the file is read in part"));
        }
        let lost_joist = fault.lost.is_some_and(|(class, _)| class == "IfcBeam");
        if !lost_joist && json["members"][0]["name"] != fault.name {
            wrong.push(format!("{what}: is called {}", json["members"][0]["name"]));
        }
        for text in fault.told {
            if !warnings.iter().any(|warning| warning.contains(text)) {
                wrong.push(format!("{what}: {text:?} is not told: {warnings:?}"));
            }
        }
        if warnings.len() != fault.told.len() {
            wrong.push(format!("{what}: told are {warnings:?}"));
        }
        if let Some((class, status)) = fault.lost {
            let rows = json["coverage"].as_array().into_iter().flatten();
            let row = rows.filter(|row| row["class"] == class).map(|row| &row["status"]);
            if row.clone().next().is_none_or(|found| found != status) {
                wrong.push(format!("{what}: {class} is {:?}", row.collect::<Vec<_>>()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

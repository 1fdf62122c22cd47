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

/// Fault; what is exchanged for what; whether the file counts as read in part; what is told.
type Fault = (&'static str, &'static str, &'static str, bool, &'static [&'static str]);

const FAULTS: [Fault; 24] = [
    ("none", "ISO", "ISO", false, &[]),
    ("a byte order mark", "ISO-10303-21;\nHEADER", "\u{feff}ISO-10303-21;\nHEADER", false, &[]),
    ("a path with single backslashes", "'Joist'", "'C:\\Users\\Joist'", false, &[]),
    ("octets in a directive that is not closed", "'Joist'", "'\\X\\C3\\X96 Joist'", false, &[]),
    ("half a surrogate pair", "'Joist'", "'\\X2\\D800\\X0\\ Joist'", false, &[]),
    ("small hexadecimal letters", "'Joist'", "'\\X2\\00e4\\X0\\ Joist'", false, &[]),
    ("an empty directive", "'Joist'", "'\\X2\\\\X0\\Joist'", false, &[]),
    ("a shifted apostrophe", "'Joist'", "'Joist \\S\\''", false, &[]),
    ("a directive left open", "'Joist'", "'Joist \\X2\\00E4'", false, &[]),
    ("reals without a dot", "4000.);", "4E3);", false, &[]),
    ("reals with a small e", "1500.,", "1.5e3,", false, &[]),
    ("a dot too many", "1500.,", "1.5E3.,", false, &[]),
    ("line ends in tokens", "4000.);", "40\r\n00.);", false, &[]),
    ("no brackets round one reference", "(#14)", "#14", false, &[]),
    ("a comma behind the last", "(#14)", "(#14,)", false, &[]),
    (
        "five entries in FILE_NAME",
        ",'','','');\nFILE_SCHEMA",
        ",'');\nFILE_SCHEMA",
        false,
        &["FILE_NAME has 5"],
    ),
    ("a name twice", "#17=", "#16=IFCBEAM($);\n#17=", true, &["#16 stands twice in the file"]),
    ("a plus in a name", "#17=IFCM", "#+17=IFCM", true, &["written #+17"]),
    ("a reference to nothing", "'Joist',$,$,#7", "'Joist',$,#999,#7", false, &[]),
    (
        "a text without its end",
        "#17=",
        "#30=IFCMATERIAL('x,$,$);\n#17=",
        true,
        &["has no closing apostrophe"],
    ),
    ("cut short", "ENDSEC;\nEND-ISO-10303-21;\n", "", true, &["cut short"]),
    ("a GlobalId of the wrong shape", "0000000000000000000002", "{0000-0000}-x", false, &[]),
    ("attributes too few", ",$,.JOIST.);", ");", false, &[]),
    ("attributes too many", "$,.JOIST.);", "$,.JOIST.,$,$);", false, &[]),
];

#[test]
fn a_fault_costs_no_cut_and_damage_is_told() {
    let mut wrong = Vec::new();
    for (what, from, to, partial, told) in FAULTS {
        assert!(GOOD.contains(from), "{what}: the file has no {from:?}");
        let text = GOOD.replacen(from, to, 1);
        let input = Input::new("faulty.ifc", text.as_bytes());
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
        if cuts != 1 {
            wrong.push(format!("{what}: {cuts} cuts, {warnings:?}"));
        }
        if json["inputs"][0]["partial"].as_bool().unwrap_or(false) != partial {
            wrong.push(format!("{what}: partial is not {partial}: {warnings:?}"));
        }
        if partial && json["cuts"][0]["verdict"] == "pass" {
            wrong.push(format!("{what}: passes although the file is read in part"));
        }
        for text in told {
            if !warnings.iter().any(|warning| warning.contains(text)) {
                wrong.push(format!("{what}: {text:?} is not told: {warnings:?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

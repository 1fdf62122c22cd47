//! Every file of `../shared/models/parser-cases/`: what a user sees of it.

use super::{json, run, warnings};
use crate::support::shared::shared;

const UNITS: &str = "no project assigns units: lengths are read as metres";

/// File, what makes it awkward, schema, unit, instances, elements, and what is told.
type Case =
    (&'static str, &'static str, &'static str, &'static str, u64, u64, &'static [&'static str]);

const CASES: [Case; 19] = [
    ("Axis2PlacementError.ifc", "types without a project", "IFC4", "m", 15369, 0, &[UNITS]),
    ("BackSpaceInFileName.ifc", "a backslash in the header", "IFC2X3", "mm", 35, 0, &[]),
    (
        "Badly-formed-Ifc-file.ifc",
        "\\S\\' in the header, * for unset",
        "IFC2X3",
        "m",
        2,
        1,
        &[UNITS],
    ),
    ("DoubleBackSlashName.ifc", "a name that ends in \\\\", "IFC2X3", "mm", 54, 1, &[]),
    ("EmptyMultibyteString.ifc", "\\X2\\\\X0\\", "IFC2X3", "m", 26, 0, &[]),
    (
        "FormallyIllegalFile.ifc",
        "a raw byte, infinite numbers",
        "IFC4",
        "m",
        3,
        0,
        &[UNITS, "the file holds bytes that are not UTF-8"],
    ),
    ("IfcCartesianPointList3D.ifc", "one list of points", "IFC4", "m", 1, 0, &[UNITS]),
    (
        "InvalidHeaderFileName.ifc",
        "single backslashes, schema first",
        "IFC2X3",
        "m",
        1,
        0,
        &[UNITS],
    ),
    ("InvalidMonetaryUnit.ifc", "a text for an enumeration", "IFC2X3", "m", 1, 0, &[UNITS]),
    ("InvalidMultiByte.ifc", "a directive cut short", "IFC2X3", "m", 30, 0, &[]),
    ("InvalidTriangulatedFaceSet.ifc", "a list one level too deep", "IFC4", "m", 1, 0, &[UNITS]),
    ("InvalidType.ifc", "small letters in an enumeration", "IFC2X3", "mm", 70, 2, &[]),
    ("Large_entity_label.ifc", "a name over 32 bits", "IFC2X3", "m", 1, 0, &[UNITS]),
    ("NewlinesInStrings.ifc", "line ends in a text", "IFC2X3", "inch", 43, 1, &[]),
    ("RadianValuesOverPI.ifc", "angles over a half turn", "IFC2X3", "mm", 151, 16, &[]),
    (
        "RealWithExponent.ifc",
        "five entries in FILE_NAME",
        "IFC2X3",
        "m",
        1,
        0,
        &[UNITS, "FILE_NAME has 5 parameters instead of 7"],
    ),
    ("SpecicalSolidusEscape.ifc", "\\S\\ before a solidus", "IFC2X3", "m", 29, 0, &[]),
    ("Wrongly1251Encoded.ifc", "text in a wrong code page", "IFC2X3", "mm", 32, 0, &[]),
    ("fileWithAbstractClass.ifc", "an instance of an abstract class", "IFC2X3", "mm", 630, 1, &[]),
];

#[test]
fn every_awkward_file_is_read_and_what_is_odd_is_told() {
    let Some(shared) = shared("every_awkward_file_is_read_and_what_is_odd_is_told") else { return };
    let folder = shared.0.join("models/parser-cases");
    let there = std::fs::read_dir(&folder).expect("a folder").count();
    assert_eq!(there, CASES.len(), "a case without an expectation");
    for (file, what, schema, unit, instances, elements, told) in CASES {
        let output = run(&folder, &["inspect", "--format", "json", file], None);
        assert_eq!(output.status.code(), Some(0), "{file} ({what})");
        let report = json(&output);
        let input = &report["inputs"][0];
        assert_eq!(input["schema"], schema, "{file} ({what})");
        assert_eq!(input["length_unit"], unit, "{file} ({what})");
        assert_eq!(input["instances"], instances, "{file} ({what})");
        let rows = report["coverage"].as_array().into_iter().flatten();
        let covered: u64 = rows.filter_map(|row| row["count"].as_u64()).sum();
        assert_eq!(covered, elements, "{file} ({what})");
        let warnings = warnings(&report);
        assert_eq!(warnings.len(), told.len(), "{file} ({what}): {warnings:?}");
        for text in told {
            assert!(warnings.iter().any(|w| w.contains(text)), "{file}: {text}: {warnings:?}");
        }
    }
}

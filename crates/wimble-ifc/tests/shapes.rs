//! The real models beside the repository, through every shape that they hold.
//!
//! Nothing here compares with another reader (the comparison of extents at the top level does);
//! these tests hold what must be true of any solid that is read.

#![expect(
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops where it fails and says what it skipped and counted"
)]

use std::path::{Path, PathBuf};
use wimble_geom::Solid;
use wimble_ifc::{Body, Census, Model, SHAPE_KINDS, is_zip, unzip};

/// The models, or `None` where they are not there.
fn models(test: &str) -> Option<Vec<PathBuf>> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2)?;
    let shared = variable("WIMBLE_SHARED").map_or_else(|| top.join("../shared"), PathBuf::from);
    let mut files = Vec::new();
    let mut open = vec![shared.join("models"), shared.join("standards/bcf/ifc-for-examples")];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(&folder).into_iter().flatten().flatten() {
            let path = entry.path();
            let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
            if path.is_dir() {
                open.push(path);
            } else if matches!(ending.as_deref(), Some("ifc" | "ifczip")) {
                files.push(path);
            }
        }
    }
    files.sort();
    if files.is_empty() {
        assert!(variable("CI").as_deref() != Some("true"), "{test}: no ../shared and CI=true");
        println!("skipped: {test}: no ../shared");
        return None;
    }
    Some(files)
}

#[expect(clippy::disallowed_methods, reason = "a test's only settings are in the environment")]
fn variable(name: &str) -> Option<String> {
    std::env::var(name).ok()
}

fn bytes(path: &Path) -> Vec<u8> {
    let bytes = std::fs::read(path).unwrap();
    if is_zip(&bytes) { unzip(&bytes).unwrap() } else { bytes }
}

fn named(files: &[PathBuf], name: &str) -> Vec<u8> {
    bytes(files.iter().find(|path| path.ends_with(name)).unwrap_or_else(|| panic!("no {name}")))
}

/// What must hold of every body.
fn holds(body: &Body, whose: &str) {
    for item in &body.items {
        match &item.solid {
            Ok(solid) => sound(solid, whose),
            Err(trouble) => assert!(!trouble.reason.is_empty(), "{whose}"),
        }
        for subtraction in &item.subtracted {
            if let Ok(solid) = &subtraction.solid {
                sound(solid, whose);
            }
        }
    }
}

fn sound(solid: &Solid, whose: &str) {
    let bounds = solid.bounds();
    assert!(
        !bounds.is_empty() && bounds.min.is_finite() && bounds.max.is_finite(),
        "{whose}: {bounds:?}"
    );
    let volume = solid.volume();
    assert!(volume.is_finite(), "{whose}");
    if solid.is_closed() {
        // Rounding of the surface by a micrometre.
        let size = bounds.size().max_element();
        assert!(volume >= -1e-6 * size * size, "{whose}: a volume of {volume}");
    }
    if let Solid::Mesh(mesh) = solid {
        let count = mesh.points.len();
        assert!(mesh.triangles.iter().flatten().all(|&i| (i as usize) < count), "{whose}");
    }
}

#[test]
fn every_product_of_every_model_is_read_or_says_why() {
    let Some(files) = models("shapes") else { return };
    let mut census = Census::default();
    let (mut read, mut lines_only) = (0, 0);
    let mut unread: Vec<String> = Vec::new();
    for path in &files {
        let bytes = bytes(path);
        // Some parser cases are no models at all; opening them is tested elsewhere.
        let Ok(model) = Model::open(&bytes) else { continue };
        for &product in model.products() {
            let body = model.body(product);
            holds(&body, &format!("{} #{}", path.display(), model.step().name(product)));
            for item in &body.items {
                match &item.solid {
                    Ok(_) => read += 1,
                    Err(trouble) if trouble.reason.contains("has only lines") => lines_only += 1,
                    Err(trouble) if trouble.reason.contains("and no body") => lines_only += 1,
                    Err(trouble) => unread.push(format!("{}: {}", path.display(), trouble.reason)),
                }
            }
            census.add(&body.census);
        }
    }
    println!("{read} items read, {lines_only} of lines only, {} not read:", unread.len());
    for reason in &unread {
        println!("  {reason}");
    }
    for (keyword, count) in &census.counts {
        println!("{keyword} {} read {} not", count.read, count.unread);
        let known = SHAPE_KINDS.iter().any(|kind| kind.class.eq_ignore_ascii_case(keyword));
        let part = keyword.contains("FACE") || keyword.contains("SHELL");
        assert!(known || part || count.read == 0, "{keyword} is read but not in the list of kinds");
    }
    assert!(read > 5000 && unread.len() * 100 < read, "{read} items read, {} not", unread.len());
}

/// Shapes without a product: test files of single solids.
#[test]
fn solids_that_stand_alone_are_read_or_say_why() {
    let Some(files) = models("solids") else { return };
    for path in files.iter().filter(|path| path.to_string_lossy().contains("geometry-cases")) {
        let bytes = bytes(path);
        let Ok(model) = Model::open(&bytes) else { continue };
        let keywords: Vec<String> = model.step().keywords().map(str::to_owned).collect();
        let alone = |k: &&String| {
            (k.contains("SOLID") || k.contains("BREP") || k.ends_with("FACESET"))
                && !k.contains("HALFSPACE")
        };
        for keyword in keywords.iter().filter(alone) {
            for &row in model.step().rows_of(keyword).iter().take(40) {
                let body = model.shape_of(row);
                holds(&body, &format!("{} #{}", path.display(), model.step().name(row)));
            }
        }
    }
}

#[test]
fn a_wall_of_mapped_studs_is_as_many_items() {
    let Some(files) = models("studs") else { return };
    let bytes = named(&files, "wall-elemented-case.ifc");
    let model = Model::open(&bytes).unwrap();
    let most = model.products().iter().map(|&p| model.body(p).items.len()).max();
    assert_eq!(most, Some(20));
}

#[test]
fn a_beam_s_recesses_are_read_as_its_openings() {
    let Some(files) = models("recesses") else { return };
    let bytes = named(&files, "beam-47-recesses.ifc");
    let model = Model::open(&bytes).unwrap();
    let openings: Vec<_> = model.products().iter().flat_map(|&p| model.voids(p).to_vec()).collect();
    assert_eq!(openings.len(), 47);
    for opening in openings {
        let body = model.opening_solids(opening);
        assert!(
            body.items.iter().any(|item| item.solid.is_ok()),
            "#{}",
            model.step().name(opening)
        );
    }
}

#[test]
fn machined_window_frames_keep_their_cuts_apart() {
    let Some(files) = models("frames") else { return };
    let bytes = named(&files, "LINDEN-Kozijnen.ifcZIP");
    let model = Model::open(&bytes).unwrap();
    let mut most = 0;
    for &product in model.products() {
        for item in model.body(product).items {
            most = most.max(item.subtracted.len());
            if let (Ok(solid), Ok(Some(net))) = (&item.solid, item.net()) {
                assert!(net.volume() <= solid.volume() * (1.0 + 1e-6));
            }
        }
    }
    assert!(most >= 2, "{most}");
}

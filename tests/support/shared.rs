//! The real models and standards beside the repository.

use std::path::{Path, PathBuf};

/// The folder `shared`, if it is there.
pub(crate) struct Shared(pub PathBuf);

/// Finds it: `WIMBLE_SHARED`, or `../shared` beside the repository. Without it the caller says so and
/// returns; where everything must run (`CI=true`) its absence fails.
#[must_use]
pub(crate) fn shared(test: &str) -> Option<Shared> {
    let beside = top().join("../shared");
    let folder = variable("WIMBLE_SHARED").map_or(beside, PathBuf::from);
    if folder.join("models").is_dir() {
        return Some(Shared(folder));
    }
    assert!(
        variable("CI").as_deref() != Some("true"),
        "{test}: no {} and CI=true: set WIMBLE_SHARED",
        folder.display()
    );
    println!("skipped: {test}: no ../shared");
    None
}

/// The repository's top folder.
#[must_use]
pub(crate) fn top() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).unwrap_or(here).to_path_buf()
}

#[expect(clippy::disallowed_methods, reason = "a test's only settings are in the environment")]
pub(crate) fn variable(name: &str) -> Option<String> {
    std::env::var(name).ok()
}

/// All models under a folder (`.ifc`, `.ifczip`), by path.
#[must_use]
pub(crate) fn files_under(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(folder) = open.pop() {
        let entries = std::fs::read_dir(&folder).unwrap_or_else(|e| panic!("{folder:?}: {e}"));
        for entry in entries {
            let path = entry.unwrap_or_else(|e| panic!("{folder:?}: {e}")).path();
            let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
            if path.is_dir() {
                open.push(path);
            } else if matches!(ending.as_deref(), Some("ifc" | "ifczip")) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// How many random floors to run: `WIMBLE_FLOORS`, else 60.
#[must_use]
pub(crate) fn floors_wanted() -> usize {
    variable("WIMBLE_FLOORS").and_then(|text| text.parse().ok()).unwrap_or(60)
}

//! Standard pipes: outside diameters and the clearance that their hole needs.

use serde::Serialize;
use std::sync::OnceLock;

/// A pipe that is bought by name.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StandardPipe {
    /// What it is made of and how it is joined.
    pub system: String,
    /// Its name in the trade.
    pub name: String,
    /// Outside diameter.
    pub outside_mm: f64,
    /// Clearance on the diameter (common practice).
    pub clearance_mm: f64,
    /// Standard or page of the diameter, with its status.
    pub source: String,
}

/// The table of outside diameters, in the order of the table.
#[must_use]
pub fn standard_pipes() -> &'static [StandardPipe] {
    static PIPES: OnceLock<Vec<StandardPipe>> = OnceLock::new();
    PIPES.get_or_init(|| {
        let mut reader = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .comment(Some(b'#'))
            .from_reader(include_str!("../../packs/pipes.csv").as_bytes());
        reader
            .records()
            .filter_map(Result::ok)
            .filter_map(|record| {
                Some(StandardPipe {
                    system: record.get(0)?.to_owned(),
                    name: record.get(1)?.to_owned(),
                    outside_mm: record.get(2)?.parse().ok()?,
                    clearance_mm: record.get(3)?.parse().ok()?,
                    source: record.get(4)?.to_owned(),
                })
            })
            .collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_table_is_read() {
        let lines = include_str!("../../packs/pipes.csv")
            .lines()
            .filter(|l| !l.trim().is_empty() && !l.starts_with('#'))
            .count();
        assert_eq!(standard_pipes().len(), lines - 1);
        assert!(standard_pipes().iter().all(|p| p.outside_mm > 0.0 && !p.source.is_empty()));
    }
}

//! Cleaned texts of records that could not be read as they stand.
//!
//! Values are spans, and they live as long as the file. The few records that have to be cleaned
//! before they can be read (a token is cut in two by a line break) need a text to be spans of: it
//! is kept here, once for each record. Only added to, so that it can be shared without locks.

use std::sync::OnceLock;

/// Chains of cleaned texts by row; empty, it takes no room.
#[derive(Debug, Default)]
pub(crate) struct Mended {
    places: OnceLock<Vec<Link>>,
}

type Link = OnceLock<Box<Node>>;

#[derive(Debug)]
struct Node {
    row: u32,
    text: Vec<u8>,
    next: Link,
}

/// Number of chains.
const PLACES: usize = 1 << 14;

impl Mended {
    /// The cleaned text of a row, made by `text` the first time.
    pub(crate) fn get(&self, row: u32, text: impl FnOnce() -> Vec<u8>) -> &[u8] {
        let places =
            self.places.get_or_init(|| std::iter::repeat_with(Link::new).take(PLACES).collect());
        let Some(mut link) = places.get(row as usize % PLACES) else {
            return &[];
        };
        let mut text = Some(text);
        loop {
            let node = link.get_or_init(|| {
                let text = text.take().map(|text| text()).unwrap_or_default();
                Box::new(Node { row, text, next: Link::new() })
            });
            if node.row == row {
                return &node.text;
            }
            link = &node.next;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_row_keeps_its_first_text() {
        let mended = Mended::default();
        let rows = [5, 5 + PLACES as u32, 5, 5 + 2 * PLACES as u32, 6];
        for (turn, row) in rows.into_iter().enumerate() {
            let text = mended.get(row, || format!("{row} {turn}").into_bytes());
            let first = rows.iter().position(|&r| r == row).unwrap();
            assert_eq!(text, format!("{row} {first}").as_bytes());
        }
    }
}

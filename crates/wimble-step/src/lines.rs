//! From byte offsets to line numbers, counted when somebody asks.

use std::sync::OnceLock;

use memchr::memchr_iter;
use rayon::prelude::*;

/// How far apart the counts are that are kept.
const STRIDE: usize = 4 * 1024;

/// Line numbers of one file. The first question costs one pass over the file, later ones at most
/// [`STRIDE`] bytes.
#[derive(Debug, Default)]
pub(crate) struct Lines {
    /// Line breaks before each multiple of [`STRIDE`].
    before: OnceLock<Vec<u64>>,
}

impl Lines {
    /// The line (from 1) in which the byte at `offset` stands.
    pub(crate) fn line(&self, bytes: &[u8], offset: u64) -> u64 {
        let offset = usize::try_from(offset).unwrap_or(usize::MAX).min(bytes.len());
        if offset < STRIDE {
            return 1 + breaks(bytes, 0, offset);
        }
        let before = self.before.get_or_init(|| {
            let blocks: Vec<u64> = (0..bytes.len() / STRIDE)
                .into_par_iter()
                .with_min_len(64)
                .map(|block| breaks(bytes, block * STRIDE, (block + 1) * STRIDE))
                .collect();
            let mut sum = 0;
            std::iter::once(0)
                .chain(blocks.into_iter().map(|count| {
                    sum += count;
                    sum
                }))
                .collect()
        });
        let block = offset / STRIDE;
        1 + before.get(block).copied().unwrap_or(0) + breaks(bytes, block * STRIDE, offset)
    }
}

/// Line breaks that end in `from..to`: every LF, and every CR that no LF follows.
fn breaks(bytes: &[u8], from: usize, to: usize) -> u64 {
    let block = bytes.get(from..to).unwrap_or_default();
    let feeds = memchr_iter(b'\n', block).count();
    let returns = memchr_iter(b'\r', block).count();
    let pairs = if returns == 0 {
        0
    } else {
        let next = bytes.get(from + 1..bytes.len().min(to + 1)).unwrap_or_default();
        block.iter().zip(next).filter(|&(&a, &b)| a == b'\r' && b == b'\n').count()
    };
    (feeds + returns - pairs) as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_line_end_counts_once() {
        for text in ["a\nb\nc", "a\r\nb\r\nc", "a\rb\rc", "a\nb\rc", "a\r\nb\rc"] {
            let lines = Lines::default();
            assert_eq!(lines.line(text.as_bytes(), 0), 1, "{text:?}");
            assert_eq!(lines.line(text.as_bytes(), text.len() as u64 - 1), 3, "{text:?}");
            assert_eq!(lines.line(text.as_bytes(), 999), 3, "{text:?}");
        }
    }

    #[test]
    fn far_offsets_agree_with_plain_counting() {
        let text = "12345678901\r\n".repeat(20_000);
        let lines = Lines::default();
        for offset in (0..text.len()).step_by(4_999) {
            let plain = 1 + text.as_bytes()[..offset].iter().filter(|&&b| b == b'\n').count();
            // Between CR and LF the CR has not ended the line on its own.
            assert_eq!(lines.line(text.as_bytes(), offset as u64), plain as u64);
        }
    }
}

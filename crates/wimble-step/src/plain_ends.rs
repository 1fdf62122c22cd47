//! Where plain statements end, sixty-four bytes at a time and ahead of their reading.
//!
//! Nearly all statements hold one `=`, behind their name, no comment, and strings that stand on one
//! line and end at their first apostrophe. Their ends are the `;` outside strings. What may be
//! otherwise is left to the [`Scanner`](crate::scan::Scanner); property tests hold the two together.

use fearless_simd::prelude::*;
use fearless_simd::{Level, dispatch, u8x64};

/// Length of a block.
const BLOCK: usize = 64;

/// How many blocks are looked through at once: few enough to stay in the nearest cache until the
/// statements in them are read.
const BLOCKS: usize = 64;

/// The ends of the statements of one file, one after another.
#[derive(Debug)]
pub(crate) struct PlainEnds<'a> {
    bytes: &'a [u8],
    /// Where the next block begins.
    at: usize,
    /// All ones if a string is open there, else 0.
    in_string: u64,
    /// All ones if the statement there has had its `=`, else 0.
    named: u64,
    /// The next end cannot be told.
    stuck: bool,
    /// No byte before this is above 0x7F, if there is one at all before `at`.
    non_ascii: Option<usize>,
    level: Level,
    /// The ends found last, and how many of them were asked for.
    found: Vec<usize>,
    told: usize,
}

impl<'a> PlainEnds<'a> {
    /// The ends from `at` on, where a statement ends or starts.
    pub(crate) fn new(bytes: &'a [u8], at: usize) -> Self {
        Self {
            bytes,
            at,
            in_string: 0,
            named: 0,
            stuck: false,
            non_ascii: None,
            level: Level::new(),
            found: Vec::new(),
            told: 0,
        }
    }

    /// Reads on from `at`, where a statement ends or starts.
    pub(crate) fn restart(&mut self, at: usize) {
        self.pass(at);
        self.found.clear();
        self.told = 0;
        (self.at, self.in_string, self.named, self.stuck) = (at, 0, 0, false);
    }

    /// A place up to which all bytes are ASCII, if some before `until` are not.
    pub(crate) fn non_ascii(&mut self, until: usize) -> Option<usize> {
        self.pass(until);
        self.non_ascii
    }

    /// Goes by the bytes up to `until`, which were not looked through.
    fn pass(&mut self, until: usize) {
        let passed = self.bytes.get(self.at..until).unwrap_or_default();
        if self.non_ascii.is_none() && !passed.is_ascii() {
            self.non_ascii = Some(self.at);
        }
    }

    /// The offset behind the `;` of the next statement, if it is plain and opens with a name and a
    /// keyword; what opens otherwise may end before. Where none is told, the ends go on after a
    /// [restart](Self::restart).
    #[inline]
    pub(crate) fn next(&mut self) -> Option<usize> {
        if self.told == self.found.len() {
            self.look_ahead();
        }
        let end = self.found.get(self.told).copied()?;
        self.told += 1;
        Some(end)
    }

    /// Looks through the blocks ahead until ends are found.
    fn look_ahead(&mut self) {
        self.found.clear();
        self.told = 0;
        while self.found.is_empty() && !self.stuck {
            let rest = self.bytes.get(self.at..).unwrap_or_default();
            let (blocks, _) = rest.as_chunks();
            let blocks = blocks.get(..BLOCKS).unwrap_or(blocks);
            // The last bytes of the file are no block.
            self.stuck = blocks.is_empty();
            dispatch!(self.level, simd => self.look_through(simd, blocks));
        }
    }

    #[inline(always)]
    fn look_through<S: Simd>(&mut self, simd: S, blocks: &[[u8; BLOCK]]) {
        let from = self.at;
        let mut all = u8x64::splat(simd, 0);
        for block in blocks {
            let block = (*block).simd_into(simd);
            all |= block;
            self.look_through_block(Block(block));
            if self.stuck {
                break;
            }
        }
        if self.non_ascii.is_none() && all.simd_ge(0x80).any_true() {
            self.non_ascii = Some(from);
        }
    }

    #[inline(always)]
    fn look_through_block<S: Simd>(&mut self, block: Block<S>) {
        // From each opening apostrophe up to before the closing one.
        let strings = self.in_string ^ up_to_next(block.apostrophes());
        let (semicolons, equals) = (block.semicolons() & !strings, block.equals() & !strings);
        // `=` and `;` take turns: from each `=` up to before its `;`.
        let named = self.named ^ up_to_next(semicolons | equals);
        let out_of_turn = (semicolons & named) | (equals & !named);
        let odd = (block.slashes() & !strings) | (block.odd_in_strings() & strings);
        let mut ends = semicolons;
        if out_of_turn | odd != 0
            && let Some(stop) = self.first_to_ask(out_of_turn, odd, strings)
        {
            ends &= (1 << stop) - 1;
            self.stuck = true;
        }
        while ends != 0 {
            self.found.push(self.at + ends.trailing_zeros() as usize + 1);
            ends &= ends - 1;
        }
        self.in_string = last(strings);
        self.named = last(named);
        self.at += BLOCK;
    }

    /// The first place of the block whose byte may change where its statement ends.
    #[cold]
    fn first_to_ask(&self, out_of_turn: u64, odd: u64, strings: u64) -> Option<u32> {
        let mut places = out_of_turn | odd;
        while places != 0 {
            let place = places.trailing_zeros();
            let at = self.at + place as usize;
            let asks = strings >> place & 1 == 0
                // A line break may end a string that was never closed.
                || matches!(self.bytes.get(at), Some(b'\n' | b'\r'))
                // The apostrophe may be the character of `\S\'`.
                || self.bytes.get(at + 1) == Some(&b'\'');
            if asks {
                return Some(place);
            }
            places &= places - 1;
        }
        None
    }
}

/// The bytes of a block, asked about as bits, the lowest for the first byte.
#[derive(Clone, Copy)]
struct Block<S: Simd>(u8x64<S>);

impl<S: Simd> Block<S> {
    #[inline(always)]
    fn are(self, byte: u8) -> u64 {
        self.0.simd_eq(byte).to_bitmask()
    }

    #[inline(always)]
    fn semicolons(self) -> u64 {
        self.are(b';')
    }

    #[inline(always)]
    fn equals(self) -> u64 {
        self.are(b'=')
    }

    #[inline(always)]
    fn apostrophes(self) -> u64 {
        self.are(b'\'')
    }

    #[inline(always)]
    fn slashes(self) -> u64 {
        self.are(b'/')
    }

    /// Backslashes and the octets that are ignored.
    #[inline(always)]
    fn odd_in_strings(self) -> u64 {
        (self.0.simd_lt(0x20) | self.0.simd_eq(0x7F) | self.0.simd_eq(b'\\')).to_bitmask()
    }
}

/// The bits from each odd one of those set (the first, the third …) up to before the next.
#[inline(always)]
fn up_to_next(mut bits: u64) -> u64 {
    for by in [1, 2, 4, 8, 16, 32] {
        bits ^= bits << by;
    }
    bits
}

/// All ones if the last bit is set, else 0.
#[inline(always)]
fn last(bits: u64) -> u64 {
    u64::MAX * (bits >> 63)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::head;
    use crate::layout::is_keyword_byte;
    use crate::scan::{Ending, Scanner};
    use crate::twin::piece;

    /// Statements behind which a block is full.
    const MORE: &str =
        "#8=A($);\n#9=A('more',#8);\n#10=A('and more',#9);\n#11=A('and still more',#10);\n";

    /// Asks for the end of a statement that begins anywhere in a block, behind another; gives what
    /// was told.
    fn told(statement: &str) -> Vec<bool> {
        let told = |pad: usize| {
            let before = format!("#1=A({});\n", "0".repeat(pad));
            let text = [before.as_str(), statement, MORE].concat();
            let mut ends = PlainEnds::new(text.as_bytes(), 0);
            assert_eq!(ends.next(), Some(before.len() - 1));
            let (end, told) = (before.len() + statement.len(), ends.next());
            assert!(told.is_none_or(|told| told == end), "{statement}: {told:?}");
            ends.restart(end);
            assert_eq!(ends.next(), Some(end + MORE.find('\n').unwrap()));
            told.is_some()
        };
        (0..2 * BLOCK).map(told).collect()
    }

    #[test]
    fn the_usual_statement_is_plain() {
        for statement in [
            "#7=A();",
            "#7 = A ( $ ) ;",
            "#7=A('it''s; here','/* = */','',*,#1);",
            "#7=A('\\X2\\00E4\\X0\\ger, C:\\temp');",
            "#7=A(\r\n'text',\n'more'\n);",
            "#7=A(\"0FF\",1.E-3);",
            "#7=A('Tr\u{E4}ger');",
        ] {
            assert!(told(statement).into_iter().all(|plain| plain), "{statement}");
        }
    }

    #[test]
    fn what_may_end_elsewhere_is_left_to_the_scanner() {
        for statement in [
            // A comment.
            "#7=A(/* ; */$);",
            // An apostrophe that ends no string.
            r"#7=A('\S\';');",
            "#7=A('\\S\\\n';');",
            // A string that may never be closed.
            "#7=A('x;\n');",
            // A record in another, and none at all.
            "#7=A()\n#8=A();",
            "ENDSEC;",
            ";",
        ] {
            assert!(told(statement).into_iter().all(|plain| !plain), "{statement}");
        }
    }

    /// Texts of many blocks, troubled here and there.
    fn text() -> impl Strategy<Value = String> {
        let usual = prop::sample::select(vec![
            "#1=IFCA('it''s; here',$);\n",
            "#2= IFCB((0.,1.5E-3,-7),#1,'a longer text, so that blocks end in it');\r\n",
            r"#3=IFCC('\X2\00E4\X0\',*);",
            "#4=IFCD('Tr\u{E4}ger',\n.T.);\n",
        ]);
        let piece = prop_oneof![12 => usual, 1 => piece()];
        prop::collection::vec(piece, 0..60).prop_map(|pieces| pieces.concat())
    }

    proptest! {
        #[test]
        fn ends_that_are_told_are_those_of_the_scanner(text in text()) {
            let bytes = text.as_bytes();
            let mut scanner = Scanner::new(bytes, 0);
            let from = scanner.statement_start(0);
            let (mut start, mut ends) = (from, PlainEnds::new(bytes, from));
            while start < bytes.len() {
                let (end, ending) = scanner.statement_end(start, start);
                let head = head::read(bytes, start)
                    .filter(|head| head.keyword().iter().all(|&byte| is_keyword_byte(byte)));
                let told = ends.next();
                if let (Some(_), Some(told)) = (head, told) {
                    prop_assert_eq!((told, Ending::Complete), (end, ending));
                }
                if told != Some(end) {
                    ends.restart(end);
                }
                start = scanner.statement_start(end);
            }
            let first = (from..bytes.len()).find(|&at| !bytes[at].is_ascii());
            let told = ends.non_ascii(bytes.len());
            prop_assert_eq!(told.is_some(), first.is_some());
            prop_assert!(told <= first);
        }
    }
}

//! Conditions on a cut itself, ready to be asked of many cuts.

use crate::pack::{ALL_SERVICES, ALL_TRADES, Condition, Fact, Test, shape_word, trade_word};
use crate::subject::{Mark, service_bit, trade_bit};
use wimble_model::CutShape;

/// A condition whose words have become bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum OfCut {
    /// Its shape is one of these.
    Shape(Bits),
    /// What its services carry.
    Trades(Bits),
    /// What its services are.
    Services(Bits),
    /// Whether the sizes of its services are known.
    SizesKnown(bool),
}

/// One of some, and none of others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Bits {
    /// `None`: any will do.
    one_of: Option<u16>,
    none_of: u16,
}

impl OfCut {
    /// The condition; `None` for one that has no short form.
    pub(crate) fn of(condition: &Condition) -> Option<Self> {
        match (&condition.test, condition.fact) {
            (Test::YesNo(wanted), Fact::SizeKnown) => Some(Self::SizesKnown(*wanted)),
            (Test::Words { is, not }, fact) => {
                let bits = |bit: &dyn Fn(&str) -> u16| Bits {
                    one_of: (!is.is_empty()).then(|| is.iter().fold(0, |all, w| all | bit(w))),
                    none_of: not.iter().fold(0, |all, word| all | bit(word)),
                };
                match fact {
                    Fact::Shape => Some(Self::Shape(bits(&|word| {
                        all(&SHAPES, |shape| shape_word(shape) == word, shape_bit)
                    }))),
                    Fact::Trade => Some(Self::Trades(bits(&|word| {
                        all(&ALL_TRADES, |trade| trade_word(trade) == word, trade_bit)
                    }))),
                    Fact::Service => Some(Self::Services(bits(&|word| {
                        all(&ALL_SERVICES, |kind| kind.word() == word, service_bit)
                    }))),
                    _ => None,
                }
            }
            _ => None,
        }
    }

    /// Whether it holds of a cut.
    pub(crate) fn holds(self, mark: &Mark) -> bool {
        match self {
            Self::Shape(bits) => bits.hold(shape_bit(mark.shape)),
            Self::Trades(bits) => bits.hold(mark.trades),
            Self::Services(bits) => bits.hold(mark.services),
            Self::SizesKnown(wanted) => mark.sizes_known == wanted,
        }
    }
}

impl Bits {
    fn hold(self, has: u16) -> bool {
        self.one_of.is_none_or(|one_of| has & one_of != 0) && has & self.none_of == 0
    }
}

const SHAPES: [CutShape; 3] = [CutShape::Round, CutShape::Rectangular, CutShape::Other];

const fn shape_bit(shape: CutShape) -> u16 {
    1 << shape as u16
}

/// The bits of all that fit.
fn all<T: Copy>(of: &[T], fits: impl Fn(T) -> bool, bit: impl Fn(T) -> u16) -> u16 {
    of.iter().filter(|&&one| fits(one)).fold(0, |bits, &one| bits | bit(one))
}

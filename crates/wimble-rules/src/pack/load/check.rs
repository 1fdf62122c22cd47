//! What a rule checks, with what the check needs.

use super::{Loader, Read, otherwise};
use crate::expression::Length;
use crate::pack::raw::{RawCheck, RawRule};
use crate::pack::{
    Along, Around, Check, Datum, DistanceBound, EdgeOf, KeepOut, KindSet, ObligeOf, Pack, Part,
    SizeOf, Spacing, Value, With,
};
use toml::Spanned;
use wimble_model::ObligationKind;

impl Loader<'_> {
    /// Keys that the check does not read would be silently without effect: refuse them.
    pub(super) fn belongs(&self, raw: &RawRule) -> Read<()> {
        let known: &[&str] = match raw.check.get_ref() {
            RawCheck::Zone => &["from", "to", "measure", "part"],
            RawCheck::KeepOut => &["from", "to", "measure", "around", "within"],
            RawCheck::SupportDistance => &["at-least", "at-most", "part"],
            RawCheck::Size => &["of", "at-most"],
            RawCheck::Level => &["at-most", "refer-to"],
            RawCheck::Edge => &["of", "at-least"],
            RawCheck::Left => &["along", "at-least"],
            RawCheck::Apart => &["with", "measure", "at-least", "times-larger"],
            RawCheck::BothEdges => &["gap", "same-half"],
            RawCheck::Count => &["kinds", "ignore-under", "at-most"],
            RawCheck::Forbid => &["kinds"],
            RawCheck::Member => &["fact", "is", "not", "at-least", "at-most"],
            RawCheck::Oblige => &["of", "at-least", "obligation"],
        };
        let written = [
            ("from", raw.from.as_ref().map(Spanned::span)),
            ("to", raw.to.as_ref().map(Spanned::span)),
            ("measure", raw.measure.as_ref().map(Spanned::span)),
            ("part", raw.part.as_ref().map(Spanned::span)),
            ("around", raw.around.as_ref().map(Spanned::span)),
            ("within", raw.within.as_ref().map(Spanned::span)),
            ("at-least", raw.at_least.as_ref().map(Spanned::span)),
            ("at-most", raw.at_most.as_ref().map(Spanned::span)),
            ("refer-to", raw.refer_to.as_ref().map(Spanned::span)),
            ("of", raw.of.as_ref().map(Spanned::span)),
            ("along", raw.along.as_ref().map(Spanned::span)),
            ("with", raw.with.as_ref().and_then(|w| w.first()).map(Spanned::span)),
            ("times-larger", raw.times_larger.as_ref().map(Spanned::span)),
            ("gap", raw.gap.as_ref().map(Spanned::span)),
            ("same-half", raw.same_half.as_ref().map(Spanned::span)),
            ("kinds", raw.kinds.as_ref().and_then(|k| k.first()).map(Spanned::span)),
            ("ignore-under", raw.ignore_under.as_ref().map(Spanned::span)),
            ("fact", raw.fact.as_ref().map(Spanned::span)),
            ("is", raw.is.as_ref().map(Spanned::span)),
            ("not", raw.not.as_ref().map(Spanned::span)),
            ("obligation", raw.obligation.as_ref().map(Spanned::span)),
        ];
        for (key, span) in written {
            if let Some(span) = span
                && !known.contains(&key)
            {
                return self.wrong(
                    span,
                    format!(
                        "`{key}` does not belong to this check; its keys are {}",
                        known.join(", ")
                    ),
                );
            }
        }
        Ok(())
    }

    pub(super) fn check(&self, raw: &RawRule, pack: &Pack) -> Read<Check> {
        let at = raw.check.span();
        Ok(match raw.check.get_ref() {
            RawCheck::Zone => {
                let (from, to) = self.stretch(raw, &at)?;
                Check::Zone {
                    from,
                    to,
                    datum: self.datum(raw)?,
                    part: self.word(
                        &raw.part,
                        Part::Whole,
                        &[("whole", Part::Whole), ("centre", Part::Centre)],
                    )?,
                }
            }
            RawCheck::KeepOut => match (&raw.around, &raw.within) {
                (None, None) => {
                    let (from, to) = self.stretch(raw, &at)?;
                    Check::KeepOut(KeepOut::Stretch { from, to, datum: self.datum(raw)? })
                }
                (Some(_), Some(within)) if raw.from.is_none() && raw.to.is_none() => {
                    Check::KeepOut(KeepOut::Around {
                        what: self.word(
                            &raw.around,
                            Around::Bearings,
                            &[
                                ("bearings", Around::Bearings),
                                ("hangers", Around::Hangers),
                                ("ends", Around::Ends),
                                ("partitions-across", Around::PartitionsAcross),
                                ("vessels", Around::Vessels),
                            ],
                        )?,
                        within: self.length(within)?,
                    })
                }
                _ => {
                    return self.wrong(
                        at,
                        "a keep-out needs either `from` and `to`, or `around` and `within`",
                    );
                }
            },
            RawCheck::SupportDistance => {
                let (bound, written) = match (&raw.at_least, &raw.at_most) {
                    (Some(value), None) => (DistanceBound::AtLeast, value),
                    (None, Some(value)) => (DistanceBound::AtMost, value),
                    _ => {
                        return self
                            .wrong(at, "a support distance needs either `at-least` or `at-most`");
                    }
                };
                let value = self.value(written, pack)?;
                let part = match &value {
                    Value::Table(n) => {
                        let to_centre = pack.tables.get(*n).is_some_and(|t| t.to_centre);
                        if raw.part.is_some() {
                            return self.wrong(
                                written.span(),
                                "the table says to which part of the cut it measures: leave `part` out",
                            );
                        }
                        if to_centre { Part::Centre } else { Part::Whole }
                    }
                    Value::Length(_) => self.word(
                        &raw.part,
                        Part::Whole,
                        &[("near-edge", Part::Whole), ("centre", Part::Centre)],
                    )?,
                };
                Check::SupportDistance { bound, value, part }
            }
            RawCheck::Size => Check::Size {
                of: self.needed_word(
                    &raw.of,
                    &at,
                    "of",
                    &[
                        ("height", SizeOf::Height),
                        ("width", SizeOf::Width),
                        ("notch-depth", SizeOf::NotchDepth),
                        ("bit", SizeOf::Bit),
                        ("across", SizeOf::Across),
                        ("larger", SizeOf::Larger),
                        ("proud", SizeOf::Proud),
                    ],
                )?,
                at_most: self.value(self.needed(&raw.at_most, &at, "at-most")?, pack)?,
            },
            RawCheck::Level => {
                let at_most = self.value_length(self.needed(&raw.at_most, &at, "at-most")?)?;
                let refer_to = raw.refer_to.as_ref().map(|r| self.length(r)).transpose()?;
                Check::Level { at_most, refer_to }
            }
            RawCheck::Edge => Check::Edge {
                of: self.needed_word(
                    &raw.of,
                    &at,
                    "of",
                    &[
                        ("top", EdgeOf::Top),
                        ("bottom", EdgeOf::Bottom),
                        ("nearest", EdgeOf::Nearest),
                        ("flange", EdgeOf::Flange),
                        ("side", EdgeOf::Side),
                    ],
                )?,
                at_least: self.value_length(self.needed(&raw.at_least, &at, "at-least")?)?,
            },
            RawCheck::Left => Check::Left {
                along: self.needed_word(
                    &raw.along,
                    &at,
                    "along",
                    &[("depth", Along::Depth), ("breadth", Along::Breadth), ("web", Along::Web)],
                )?,
                at_least: self.value_length(self.needed(&raw.at_least, &at, "at-least")?)?,
            },
            RawCheck::Apart => {
                let with = match &raw.with {
                    None => {
                        return self.wrong(at, "`apart` needs `with`: the kinds of the neighbours");
                    }
                    Some(kinds) if kinds.len() == 1 && kinds[0].get_ref() == "same" => With::Same,
                    Some(kinds) => With::Kinds(self.kinds(kinds)?),
                };
                let times_larger = raw.times_larger.as_ref().map_or(0.0, |t| *t.get_ref());
                if raw.at_least.is_none() && times_larger <= 0.0 {
                    return self.wrong(at, "`apart` needs `at-least`, `times-larger` or both");
                }
                Check::Apart {
                    with,
                    measure: self.word(
                        &raw.measure,
                        Spacing::Centres,
                        &[
                            ("centres", Spacing::Centres),
                            ("gap-x", Spacing::GapX),
                            ("clear", Spacing::Clear),
                        ],
                    )?,
                    at_least: raw.at_least.as_ref().map(|a| self.value_length(a)).transpose()?,
                    times_larger,
                }
            }
            RawCheck::BothEdges => {
                if raw.gap.is_none() && raw.same_half.is_none() {
                    return self.wrong(at, "`both-edges` needs `gap`, `same-half` or both");
                }
                Check::BothEdges {
                    gap: raw.gap.as_ref().map(|g| self.length(g)).transpose()?,
                    same_half: raw.same_half.as_ref().map(|s| otherwise(*s.get_ref())),
                }
            }
            RawCheck::Count => {
                let kinds = match (&raw.kinds, &raw.cut) {
                    (Some(kinds), _) | (None, Some(kinds)) => self.kinds(kinds)?,
                    (None, None) => {
                        return self.wrong(at, "`count` needs `kinds`: what is counted");
                    }
                };
                let written = self.needed(&raw.at_most, &at, "at-most")?;
                let at_most = written.get_ref().as_integer().and_then(|n| u32::try_from(n).ok());
                let Some(at_most) = at_most else {
                    return self.wrong(written.span(), "`at-most` of a count is a whole number");
                };
                Check::Count {
                    kinds,
                    ignore_under: raw
                        .ignore_under
                        .as_ref()
                        .map_or(Ok(Length::Mm(0.0)), |i| self.length(i))?,
                    at_most,
                }
            }
            RawCheck::Forbid => Check::Forbid {
                kinds: match (&raw.kinds, &raw.cut) {
                    (Some(kinds), _) | (None, Some(kinds)) => self.kinds(kinds)?,
                    (None, None) => KindSet::CUTS,
                },
            },
            RawCheck::Member => {
                let Some(fact) = &raw.fact else {
                    return self.wrong(at, "a `member` check needs its `fact`");
                };
                Check::Member(self.member(fact, raw)?)
            }
            RawCheck::Oblige => Check::Oblige {
                of: self.needed_word(
                    &raw.of,
                    &at,
                    "of",
                    &[
                        ("cover", ObligeOf::Cover),
                        ("side-cover", ObligeOf::SideCover),
                        ("left-depth", ObligeOf::LeftDepth),
                        ("left-breadth", ObligeOf::LeftBreadth),
                    ],
                )?,
                at_least: self.value_length(self.needed(&raw.at_least, &at, "at-least")?)?,
                obligation: self.needed_word(
                    &raw.obligation,
                    &at,
                    "obligation",
                    &[
                        ("nail-plate", ObligationKind::NailPlate),
                        ("pipe-clip-plate", ObligationKind::PipeClipPlate),
                        ("tie-strap", ObligationKind::TieStrap),
                        ("doubled-stud", ObligationKind::DoubledStud),
                        ("fire-stop", ObligationKind::FireStop),
                        ("sleeve", ObligationKind::Sleeve),
                        ("wrap", ObligationKind::Wrap),
                    ],
                )?,
            },
        })
    }

    pub(super) fn stretch(
        &self,
        raw: &RawRule,
        at: &std::ops::Range<usize>,
    ) -> Read<(Length, Length)> {
        let (from, to) = (self.needed(&raw.from, at, "from")?, self.needed(&raw.to, at, "to")?);
        let (a, b) = (self.length(from)?, self.length(to)?);
        if crate::pack::reach::never_less(&a, &b) {
            return self.wrong(
                from.span(),
                format!(
                    "the stretch from `{}` to `{}` is empty: `from` must be less than `to`",
                    from.get_ref(),
                    to.get_ref()
                ),
            );
        }
        Ok((a, b))
    }

    pub(super) fn datum(&self, raw: &RawRule) -> Read<Datum> {
        self.word(
            &raw.measure,
            Datum::Face,
            &[
                ("face", Datum::Face),
                ("centre-of-bearing", Datum::CentreOfBearing),
                ("end", Datum::End),
            ],
        )
    }
}

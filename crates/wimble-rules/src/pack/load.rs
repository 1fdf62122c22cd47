//! From a pack as written to a pack that can be asked, or a mistake with its place.

use super::error::nearest;
use super::fact::{Condition, Fact, Range, Sort, Test};
use super::raw::{
    RawCheck, RawOnce, RawOtherwise, RawPack, RawPart, RawProposal, RawRule, RawSource,
    RawSpanBasis, RawStatus, RawTable,
};
use super::{
    Along, Around, Check, Datum, DistanceBound, EdgeOf, Example, KeepOut, KindSet, ObligeOf, Once,
    Otherwise, Pack, PackError, PackText, Part, Proposal, Rule, SizeOf, Source, Spacing, SpanBasis,
    Status, Table, Value, With,
};
use crate::expression::Length;
use toml::{Spanned, Value as Toml};
use wimble_model::ObligationKind;

type Text = Spanned<String>;
type Read<T> = Result<T, PackError>;

/// Gives the text of a file beside the pack.
pub(crate) type Files<'f> = &'f dyn Fn(&str) -> Option<String>;

/// Reads a pack. `parent` finds the pack that it extends.
pub(crate) fn load<'p>(
    text: PackText<'_>,
    parent: &dyn Fn(&str) -> Option<&'p Pack>,
    files: Files<'_>,
) -> Read<Pack> {
    let raw: RawPack = toml::from_str(text.text).map_err(|e| text.unread(&e))?;
    Loader { text, files }.pack(&raw, parent)
}

struct Loader<'t> {
    text: PackText<'t>,
    files: Files<'t>,
}

impl Loader<'_> {
    fn wrong<T>(&self, at: std::ops::Range<usize>, message: impl Into<String>) -> Read<T> {
        Err(self.text.wrong(at, message))
    }

    fn pack<'p>(&self, raw: &RawPack, parent: &dyn Fn(&str) -> Option<&'p Pack>) -> Read<Pack> {
        self.name(&raw.id)?;
        let mut pack = match &raw.extends {
            None => Pack {
                id: String::new(),
                title: String::new(),
                region: None,
                span_basis: SpanBasis::Clear,
                extends: None,
                applies: Vec::new(),
                free: KindSet::of(&[]),
                example: Example {
                    breadth_mm: 47.0,
                    depth_mm: 220.0,
                    span_mm: 3600.0,
                    flange_mm: None,
                    product: None,
                },
                sources: Vec::new(),
                tables: Vec::new(),
                rules: Vec::new(),
            },
            Some(name) => match parent(name.get_ref()) {
                Some(parent) => parent.clone(),
                None => {
                    return self.wrong(
                        name.span(),
                        format!("there is no pack `{}` to extend", name.get_ref()),
                    );
                }
            },
        };
        pack.id.clone_from(raw.id.get_ref());
        pack.title.clone_from(raw.title.get_ref());
        pack.region.clone_from(&raw.region);
        pack.extends = raw.extends.as_ref().map(|e| e.get_ref().clone());
        pack.span_basis = match raw.span_basis {
            RawSpanBasis::Clear => SpanBasis::Clear,
            RawSpanBasis::Effective => SpanBasis::Effective,
            RawSpanBasis::BearingCentres => SpanBasis::BearingCentres,
        };
        if !raw.applies.is_empty() || raw.extends.is_none() {
            pack.applies =
                raw.applies.iter().map(|(k, v)| self.condition(k, v)).collect::<Read<_>>()?;
        }
        if !raw.free.is_empty() {
            pack.free = self.kinds(&raw.free)?;
        }
        if let Some(odd) = pack.applies.iter().find(|c| c.fact.of_the_cut()) {
            return self.wrong(
                raw.id.span(),
                format!("`{}` is a fact of a cut: a pack applies to members", odd.fact.word()),
            );
        }
        if let Some(example) = &raw.example {
            pack.example = Example {
                breadth_mm: self.constant(&example.breadth)?,
                depth_mm: self.constant(&example.depth)?,
                span_mm: self.constant(&example.span)?,
                flange_mm: example.flange.as_ref().map(|f| self.constant(f)).transpose()?,
                product: example.product.clone(),
            };
        }
        for source in &raw.source {
            self.source(source, &mut pack)?;
        }
        let own_tables = raw.table.iter().enumerate();
        for (n, table) in own_tables {
            if raw.table.iter().take(n).any(|t| t.key.get_ref() == table.key.get_ref()) {
                return self.wrong(table.key.span(), "another table of this pack has this key");
            }
            self.table(table, &mut pack)?;
        }
        let firsts: Vec<(String, String)> = pack
            .rules
            .iter()
            .filter_map(|rule| {
                let first = pack.rules.get(rule.after?)?;
                Some((rule.id.clone(), first.id.clone()))
            })
            .collect();
        for id in &raw.without {
            let before = pack.rules.len();
            pack.rules.retain(|rule| rule.id != *id.get_ref());
            if pack.rules.len() == before {
                return self.wrong(
                    id.span(),
                    format!("the extended pack has no rule `{}` to leave out", id.get_ref()),
                );
            }
        }
        // Rules that were taken over come after the same rules as before, wherever those are now.
        for rule in &mut pack.rules {
            rule.after = None;
        }
        self.rules(raw, &mut pack)?;
        for (id, first) in firsts {
            let at = pack.rules.iter().position(|r| r.id == id);
            let own = raw.rule.iter().any(|r| *r.get_ref().id.get_ref() == id);
            let (Some(at), false) = (at, own) else { continue };
            let Some(first_at) = pack.rules.iter().position(|r| r.id == first) else {
                return self.wrong(
                    raw.id.span(),
                    format!(
                        "rule `{id}` speaks only after `{first}`, which is left out: leave out both"
                    ),
                );
            };
            if let Some(rule) = pack.rules.get_mut(at) {
                rule.after = Some(first_at);
            }
        }
        // A source of the extended pack that no rule cites any more goes with its rules.
        let cited: Vec<usize> = pack.rules.iter().flat_map(|r| r.sources.iter().copied()).collect();
        let kept: Vec<usize> = (0..pack.sources.len())
            .filter(|at| pack.extends.is_none() || cited.contains(at))
            .collect();
        for rule in &mut pack.rules {
            for source in &mut rule.sources {
                *source = kept.iter().position(|k| k == source).unwrap_or(*source);
            }
        }
        pack.sources = kept.iter().filter_map(|&at| pack.sources.get(at).cloned()).collect();
        Ok(pack)
    }

    fn rules(&self, raw: &RawPack, pack: &mut Pack) -> Read<()> {
        let mut order: Vec<(usize, &RawRule)> = Vec::new();
        for (n, rule) in raw.rule.iter().enumerate() {
            let rule = rule.get_ref();
            let same = |other: &Spanned<RawRule>| other.get_ref().id.get_ref() == rule.id.get_ref();
            if raw.rule.iter().take(n).any(same) {
                return self.wrong(
                    rule.id.span(),
                    format!("two rules are called `{}`: give each its own name", rule.id.get_ref()),
                );
            }
            let read = self.rule(rule, pack)?;
            match pack.rules.iter().position(|r| r.id == read.id) {
                Some(at) => {
                    pack.rules[at] = read;
                    order.push((at, rule));
                }
                None => {
                    pack.rules.push(read);
                    order.push((pack.rules.len() - 1, rule));
                }
            }
        }
        for (at, rule) in order {
            if let Some(after) = &rule.after {
                let found = pack.rules.iter().position(|r| r.id == *after.get_ref());
                match found {
                    Some(first) if first != at => pack.rules[at].after = Some(first),
                    _ => {
                        return self.wrong(
                            after.span(),
                            format!(
                                "`{}` is no other rule of this pack, so this rule would never speak",
                                after.get_ref()
                            ),
                        );
                    }
                }
            }
            super::reach::check(&self.text, pack, at, rule)?;
        }
        if pack.rules.is_empty() {
            return self.wrong(raw.id.span(), "the pack has no rule");
        }
        Ok(())
    }

    fn name(&self, id: &Text) -> Read<()> {
        let good = !id.get_ref().is_empty()
            && id.get_ref().split('-').all(|part| {
                !part.is_empty()
                    && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit())
            });
        if good {
            return Ok(());
        }
        self.wrong(
            id.span(),
            format!(
                "`{}` is no name: use lower-case letters, digits and single hyphens (`hole-zone`)",
                id.get_ref()
            ),
        )
    }

    fn source(&self, raw: &RawSource, pack: &mut Pack) -> Read<()> {
        let read = Source {
            key: raw.key.get_ref().clone(),
            title: raw.title.clone(),
            edition: raw.edition.clone(),
            address: raw.address.clone(),
            status: match raw.status {
                RawStatus::Published => Status::Published,
                RawStatus::Restated => Status::Restated,
                RawStatus::CommonPractice => Status::CommonPractice,
                RawStatus::Memory => Status::Memory,
                RawStatus::Own => Status::Own,
            },
        };
        match pack.sources.iter_mut().find(|s| s.key == read.key) {
            Some(old) if pack.extends.is_some() => *old = read,
            Some(_) => {
                return self.wrong(
                    raw.key.span(),
                    format!("two sources have the key `{}`", raw.key.get_ref()),
                );
            }
            None => pack.sources.push(read),
        }
        Ok(())
    }

    fn table(&self, raw: &RawTable, pack: &mut Pack) -> Read<()> {
        let at = raw.key.span();
        let csv = match (&raw.file, &raw.rows) {
            (None, Some(rows)) => rows.get_ref().clone(),
            (Some(file), None) => match (self.files)(file.get_ref()) {
                Some(csv) => csv,
                None => {
                    return self.wrong(
                        file.span(),
                        format!("the table `{}` was not found beside the pack", file.get_ref()),
                    );
                }
            },
            _ => return self.wrong(at, "a table needs either `file` or `rows`"),
        };
        let table = Table {
            key: raw.key.get_ref().clone(),
            to_centre: raw.part == RawPart::Centre,
            shrinks_with_span: raw.shrinks_with_span,
            rows: Table::rows(self.text, at, &csv)?,
        };
        match pack.tables.iter_mut().find(|t| t.key == table.key) {
            Some(old) => *old = table,
            None => pack.tables.push(table),
        }
        Ok(())
    }

    fn rule(&self, raw: &RawRule, pack: &Pack) -> Read<Rule> {
        self.name(&raw.id)?;
        if let Some(group) = &raw.group {
            self.name(group)?;
        }
        match (&raw.group, &raw.option) {
            (None, Some(option)) => {
                return self
                    .wrong(option.span(), "an `option` needs the `group` that it is one of");
            }
            (Some(group), None) => {
                return self.wrong(group.span(), "a rule of a `group` needs its `option`");
            }
            _ => {}
        }
        self.belongs(raw)?;
        let check = self.check(raw, pack)?;
        let kinds = match (&raw.cut, &check) {
            (Some(cut), _) => self.kinds(cut)?,
            (None, Check::Forbid { kinds } | Check::Count { kinds, .. }) => *kinds,
            (None, _) => KindSet::CUTS,
        };
        let otherwise = match &raw.otherwise {
            Some(word) => otherwise(*word.get_ref()),
            None if matches!(check, Check::Member(_)) => Otherwise::Refer,
            None => Otherwise::Fail,
        };
        if raw.go_on && !matches!(check, Check::Member(_)) {
            return self.wrong(raw.id.span(), "`go-on` belongs to `member` checks");
        }
        let sources = self.sources(raw, pack)?;
        let why = match &raw.why {
            Some(why) if !why.get_ref().trim().is_empty() => why.get_ref().clone(),
            _ => {
                return self.wrong(
                    raw.id.span(),
                    format!(
                        "rule `{}` does not say `why`: one sentence on what it protects",
                        raw.id.get_ref()
                    ),
                );
            }
        };
        Ok(Rule {
            id: raw.id.get_ref().clone(),
            group: raw.group.as_ref().map(|g| g.get_ref().clone()),
            option: raw.option.as_ref().map(|o| o.get_ref().clone()),
            cut: kinds,
            when: raw.when.iter().map(|(k, v)| self.condition(k, v)).collect::<Read<_>>()?,
            after: None,
            check,
            otherwise,
            always: raw.always,
            go_on: raw.go_on,
            lifted_by: raw.lifted_by.as_ref().map(|l| l.get_ref().clone()),
            sources,
            clause: raw.clause.clone(),
            why,
            says: raw.says.clone(),
            next: raw.next.clone(),
            propose: raw
                .propose
                .iter()
                .flatten()
                .map(|p| match p {
                    RawProposal::Refer => Proposal::Refer,
                    RawProposal::Turn => Proposal::Turn,
                    RawProposal::TrimOut => Proposal::TrimOut,
                })
                .collect(),
            once_per: raw.once_per.map(|once| match once {
                RawOnce::With => Once::Plies,
                RawOnce::Run => Once::Run,
                RawOnce::Product => Once::Product,
            }),
        })
    }

    /// Keys that the check does not read would be silently without effect: refuse them.
    fn belongs(&self, raw: &RawRule) -> Read<()> {
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

    fn check(&self, raw: &RawRule, pack: &Pack) -> Read<Check> {
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

    fn stretch(&self, raw: &RawRule, at: &std::ops::Range<usize>) -> Read<(Length, Length)> {
        let (from, to) = (self.needed(&raw.from, at, "from")?, self.needed(&raw.to, at, "to")?);
        let (a, b) = (self.length(from)?, self.length(to)?);
        if super::reach::never_less(&a, &b) {
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

    fn datum(&self, raw: &RawRule) -> Read<Datum> {
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

    fn needed<'r, T>(
        &self,
        value: &'r Option<Spanned<T>>,
        at: &std::ops::Range<usize>,
        key: &str,
    ) -> Read<&'r Spanned<T>> {
        match value {
            Some(value) => Ok(value),
            None => self.wrong(at.clone(), format!("this check needs `{key}`")),
        }
    }

    fn needed_word<T: Copy>(
        &self,
        written: &Option<Text>,
        at: &std::ops::Range<usize>,
        key: &str,
        words: &[(&str, T)],
    ) -> Read<T> {
        let written = self.needed(written, at, key)?;
        self.one_of(written, words)
    }

    fn word<T: Copy>(&self, written: &Option<Text>, usual: T, words: &[(&str, T)]) -> Read<T> {
        written.as_ref().map_or(Ok(usual), |written| self.one_of(written, words))
    }

    fn one_of<T: Copy>(&self, written: &Text, words: &[(&str, T)]) -> Read<T> {
        if let Some((_, value)) = words.iter().find(|(word, _)| word == written.get_ref()) {
            return Ok(*value);
        }
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let near = nearest(written.get_ref(), &known)
            .map(|n| format!(" Did you mean `{n}`?"))
            .unwrap_or_default();
        self.wrong(
            written.span(),
            format!(
                "`{}` is no word here.{near} Known words: {}.",
                written.get_ref(),
                known.join(", ")
            ),
        )
    }

    fn kinds(&self, written: &[Text]) -> Read<KindSet> {
        let words: Vec<_> = super::kinds::ALL_KINDS.iter().map(|&k| (k.word(), k)).collect();
        let kinds =
            written.iter().map(|word| self.one_of(word, &words)).collect::<Read<Vec<_>>>()?;
        Ok(KindSet::of(&kinds))
    }

    fn length(&self, written: &Text) -> Read<Length> {
        Length::parse(written.get_ref()).map_err(|e| {
            // The text lies one quote inside the value's span.
            let start = written.span().start + 1;
            self.text.wrong(start + e.at.start..start + e.at.end, e.message)
        })
    }

    fn constant(&self, written: &Text) -> Read<f64> {
        match self.length(written)? {
            Length::Mm(mm) if mm > 0.0 => Ok(mm),
            _ => {
                self.wrong(written.span(), "a plain length with its unit is needed here: `220 mm`")
            }
        }
    }

    fn value_length(&self, written: &Spanned<Toml>) -> Read<Length> {
        match written.get_ref() {
            Toml::String(text) => self.length(&Spanned::new(written.span(), text.clone())),
            Toml::Integer(_) | Toml::Float(_) => self.wrong(
                written.span(),
                "a plain number is no length: write it in quotes with its unit or name (\"35 mm\", \"0.125 h\")",
            ),
            _ => self.wrong(written.span(), "a length is needed here: \"0.125 h\", \"35 mm\""),
        }
    }

    fn value(&self, written: &Spanned<Toml>, pack: &Pack) -> Read<Value> {
        if let Toml::String(text) = written.get_ref()
            && let Some(key) = text.trim().strip_prefix("table(").and_then(|t| t.strip_suffix(')'))
        {
            let found = pack.tables.iter().position(|table| table.key == key.trim());
            return match found {
                Some(at) => Ok(Value::Table(at)),
                None => self.wrong(
                    written.span(),
                    format!("there is no table `{}` in this pack", key.trim()),
                ),
            };
        }
        self.value_length(written).map(Value::Length)
    }

    fn sources(&self, raw: &RawRule, pack: &Pack) -> Read<Vec<usize>> {
        let Some(written) = &raw.source else {
            return self.wrong(
                raw.id.span(),
                format!(
                    "rule `{}` cites no `source`: name one of the pack's [[source]] keys (use a source with status \"own\" for a figure of your own)",
                    raw.id.get_ref()
                ),
            );
        };
        let keys: Vec<&str> = match written.get_ref() {
            Toml::String(one) => vec![one],
            Toml::Array(several) => several.iter().filter_map(Toml::as_str).collect(),
            _ => Vec::new(),
        };
        if keys.is_empty() {
            return self.wrong(written.span(), "a source is a key, or a list of keys");
        }
        keys.into_iter()
            .map(|key| match pack.sources.iter().position(|s| s.key == key) {
                Some(at) => Ok(at),
                None => self.wrong(
                    written.span(),
                    format!("the source `{key}` is missing: add a [[source]] with this key"),
                ),
            })
            .collect()
    }

    fn fact(&self, name: &Text) -> Read<Fact> {
        if let Some(fact) = Fact::named(name.get_ref()) {
            return Ok(fact);
        }
        let known = Fact::names();
        let near = nearest(name.get_ref(), &known)
            .map(|n| format!(" Did you mean `{n}`?"))
            .unwrap_or_default();
        self.wrong(
            name.span(),
            format!("`{}` is no fact.{near} Facts: {}.", name.get_ref(), known.join(", ")),
        )
    }

    /// `when = { kind = "joist", depth = { at-most = "250 mm" } }`.
    fn condition(&self, name: &Text, value: &Spanned<Toml>) -> Read<Condition> {
        let fact = self.fact(name)?;
        let at = value.span();
        let test = match (fact.sort(), value.get_ref()) {
            (Sort::Words(known), Toml::Table(table)) => {
                let mut not = Vec::new();
                for (key, words) in table {
                    if key != "not" {
                        return self.wrong(at, format!("`{key}` is no test of words: `not` is"));
                    }
                    not.extend(self.words(words, known, &at)?);
                }
                Test::Words { is: Vec::new(), not }
            }
            (Sort::Words(known), words) => {
                Test::Words { is: self.words(words, known, &at)?, not: Vec::new() }
            }
            (Sort::YesNo, Toml::Boolean(yes)) => Test::YesNo(*yes),
            (Sort::YesNo, _) => return self.wrong(at, "this fact is true or false"),
            (Sort::Length, Toml::Table(table)) => {
                Test::Lengths(self.bounds(table, &at, |v| {
                    self.value_length(&Spanned::new(at.clone(), v.clone()))
                })?)
            }
            (Sort::Length, _) => {
                return self
                    .wrong(at, "a length is asked for with bounds: { at-most = \"250 mm\" }");
            }
            (Sort::Figure, Toml::Table(table)) => {
                Test::Figures(self.bounds(table, &at, |v| self.figure(v, &at))?)
            }
            (Sort::Figure, figure) => {
                let figure = self.figure(figure, &at)?;
                Test::Figures(Range {
                    at_least: Some(figure),
                    at_most: Some(figure),
                    ..Range::default()
                })
            }
        };
        Ok(Condition { fact, test })
    }

    /// A `member` check: `fact`, and `is`, `not`, `at-least`, `at-most`.
    fn member(&self, name: &Text, raw: &RawRule) -> Read<Condition> {
        let fact = self.fact(name)?;
        let at = name.span();
        let test = match fact.sort() {
            Sort::Words(known) => {
                let list = |written: &Option<Spanned<Toml>>| {
                    written
                        .as_ref()
                        .map_or(Ok(Vec::new()), |w| self.words(w.get_ref(), known, &w.span()))
                };
                let (is, not) = (list(&raw.is)?, list(&raw.not)?);
                if is.is_empty() && not.is_empty() {
                    return self.wrong(at, "this fact is a word: it needs `is` or `not`");
                }
                Test::Words { is, not }
            }
            Sort::YesNo => match raw.is.as_ref().map(Spanned::get_ref) {
                Some(Toml::Boolean(yes)) => Test::YesNo(*yes),
                _ => return self.wrong(at, "this fact needs `is = true` or `is = false`"),
            },
            Sort::Length => {
                let one = |written: &Option<Spanned<Toml>>| {
                    written.as_ref().map(|w| self.value_length(w)).transpose()
                };
                let range = Range {
                    at_least: one(&raw.at_least)?,
                    at_most: one(&raw.at_most)?,
                    ..Range::default()
                };
                if range.at_least.is_none() && range.at_most.is_none() {
                    return self
                        .wrong(at, "this fact is a length: it needs `at-least` or `at-most`");
                }
                Test::Lengths(range)
            }
            Sort::Figure => {
                let one = |written: &Option<Spanned<Toml>>| {
                    written.as_ref().map(|w| self.figure(w.get_ref(), &w.span())).transpose()
                };
                let range = Range {
                    at_least: one(&raw.at_least)?,
                    at_most: one(&raw.at_most)?,
                    ..Range::default()
                };
                if range.at_least.is_none() && range.at_most.is_none() {
                    return self
                        .wrong(at, "this fact is a figure: it needs `at-least` or `at-most`");
                }
                Test::Figures(range)
            }
        };
        let empty = match &test {
            Test::Lengths(Range { at_least: Some(a), at_most: Some(b), .. }) => {
                a != b && super::reach::never_less(a, b)
            }
            Test::Figures(Range { at_least: Some(a), at_most: Some(b), .. }) => a > b,
            _ => false,
        };
        if empty {
            return self.wrong(at, "no member can be both: `at-least` is more than `at-most`");
        }
        Ok(Condition { fact, test })
    }

    fn words(
        &self,
        value: &Toml,
        known: &'static [&'static str],
        at: &std::ops::Range<usize>,
    ) -> Read<Vec<&'static str>> {
        let written: Vec<&str> = match value {
            Toml::String(one) => vec![one.as_str()],
            Toml::Array(several) => several.iter().filter_map(Toml::as_str).collect(),
            _ => Vec::new(),
        };
        if written.is_empty() {
            return self.wrong(
                at.clone(),
                format!("a word or a list of words is needed: {}", known.join(", ")),
            );
        }
        written
            .into_iter()
            .map(|word| match known.iter().find(|k| **k == word) {
                Some(word) => Ok(*word),
                None => {
                    let near = nearest(word, known)
                        .map(|n| format!(" Did you mean `{n}`?"))
                        .unwrap_or_default();
                    self.wrong(
                        at.clone(),
                        format!(
                            "`{word}` is no word of this fact.{near} Known words: {}.",
                            known.join(", ")
                        ),
                    )
                }
            })
            .collect()
    }

    fn bounds<T>(
        &self,
        table: &toml::Table,
        at: &std::ops::Range<usize>,
        read: impl Fn(&Toml) -> Read<T>,
    ) -> Read<Range<T>> {
        let mut range = Range::default();
        for (key, value) in table {
            let value = Some(read(value)?);
            match key.as_str() {
                "at-least" => range.at_least = value,
                "at-most" => range.at_most = value,
                "above" => range.above = value,
                "below" => range.below = value,
                odd => {
                    return self.wrong(
                        at.clone(),
                        format!("`{odd}` is no bound: at-least, at-most, above, below"),
                    );
                }
            }
        }
        Ok(range)
    }

    fn figure(&self, value: &Toml, at: &std::ops::Range<usize>) -> Read<f64> {
        match value {
            #[expect(clippy::cast_precision_loss, reason = "counts and ratios are small")]
            Toml::Integer(n) => Ok(*n as f64),
            Toml::Float(f) => Ok(*f),
            _ => self.wrong(at.clone(), "a plain figure is needed here, without a unit"),
        }
    }
}

const fn otherwise(raw: RawOtherwise) -> Otherwise {
    match raw {
        RawOtherwise::Fail => Otherwise::Fail,
        RawOtherwise::Refer => Otherwise::Refer,
        RawOtherwise::Unknown => Otherwise::Unknown,
        RawOtherwise::Note => Otherwise::Note,
    }
}

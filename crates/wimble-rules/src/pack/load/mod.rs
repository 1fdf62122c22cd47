//! From a pack as written to a pack that can be asked, or a mistake with its place.

use crate::pack::raw::{
    RawOnce, RawOtherwise, RawPack, RawPart, RawProposal, RawRule, RawSource, RawSpanBasis,
    RawStatus, RawTable,
};
use crate::pack::{
    Check, Example, KindSet, Once, Otherwise, Pack, PackError, PackText, Proposal, Rule, Said,
    Source, SpanBasis, Status, Table,
};
use toml::Spanned;

mod check;
mod condition;
mod read;

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
    fn pack<'p>(&self, raw: &RawPack, parent: &dyn Fn(&str) -> Option<&'p Pack>) -> Read<Pack> {
        self.name(&raw.id)?;
        let mut pack = match &raw.extends {
            None => Pack {
                id: String::new(),
                title: String::new(),
                version: String::new(),
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
        pack.version = blake3::hash(self.text.text.as_bytes()).to_hex().chars().take(12).collect();
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
        let said: Vec<Said> = pack.rules.iter().map(|rule| Said::of(&pack, rule)).collect();
        for (rule, said) in pack.rules.iter_mut().zip(said) {
            rule.said = said;
        }
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
            crate::pack::reach::check(&self.text, pack, at, rule)?;
        }
        if pack.rules.is_empty() {
            return self.wrong(raw.id.span(), "the pack has no rule");
        }
        Ok(())
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
            // Said when all is known that it is said of.
            said: Said::default(),
        })
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

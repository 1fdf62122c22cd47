//! From what is written to what is meant.

use super::{
    Expected, PackChoice, Settings, Trouble, length, near, raw, reserve, stated, topics, waive,
};
use std::ops::Range;
use toml::Spanned;
use wimble_cross::{Clearance, ClearanceKind, LaggingMode};
use wimble_recognise::{Mapping, Selector, Stated, Take};

/// The text that is read, to make places out of spans.
#[derive(Clone, Copy)]
pub(super) struct Text<'a> {
    path: &'a str,
    text: &'a str,
}

pub(super) type Outcome<T> = Result<T, Box<Trouble>>;

impl Text<'_> {
    pub(super) fn wrong<T>(
        self,
        span: Range<usize>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Outcome<T> {
        Err(Box::new(Trouble {
            path: self.path.into(),
            text: self.text.into(),
            span,
            message: message.into(),
            help: help.into(),
        }))
    }

    /// Line of a byte, from 1.
    pub(super) fn line(self, at: usize) -> usize {
        self.text.get(..at).unwrap_or(self.text).matches('\n').count() + 1
    }

    pub(super) fn length_mm(self, value: &Spanned<String>) -> Outcome<f64> {
        length::read_mm(value.get_ref()).or_else(|why| self.wrong(value.span(), why, ""))
    }
}

pub(super) fn read(
    path: &str,
    text: &str,
    beside: &dyn Fn(&str) -> Option<String>,
) -> Outcome<Settings> {
    let text = Text { path, text };
    let raw: raw::Raw = match toml::from_str(text.text) {
        Ok(raw) => raw,
        Err(error) => return unread(text, &error),
    };
    let mut settings = Settings::default();
    packs(text, &raw.rules, beside, &mut settings)?;
    rules(text, &raw, &mut settings)?;
    cut(text, &raw.cut, &mut settings)?;
    supports(text, &raw.supports, &mut settings)?;
    model(text, raw.model, &mut settings)?;
    settings.fail_on = raw.check.fail_on.unwrap_or_default();
    settings.sheets = wimble_report::marking::Issue {
        number: raw.issue.number,
        issue: raw.issue.issue,
        replaces: raw.issue.replaces,
        date: raw.issue.date,
    };
    for word in &raw.check.expect {
        settings.expect.push(expected(text, word)?);
    }
    settings.reserves = reserve::read(text, &raw.reserve)?;
    settings.waivers = waive::read(text, &raw.waive)?;
    settings.issue.topics = topics::read(text, &raw.bcf)?;
    settings.issue.settings = stated::read(text.text);
    Ok(settings)
}

/// The reader's own messages in our words: an unknown key names its near relations.
fn unread<T>(text: Text<'_>, error: &toml::de::Error) -> Outcome<T> {
    let message = error.message();
    let span = error.span().unwrap_or(0..0);
    let mut quoted = message.split('`').skip(1).step_by(2);
    for (start, what) in [("unknown field", "key"), ("unknown variant", "choice")] {
        if message.starts_with(start) {
            let word = quoted.next().unwrap_or_default();
            let known: Vec<&str> = quoted.collect();
            let help = match near(word, known.iter().copied()).first() {
                Some(name) => format!("did you mean `{name}`? Known here: {}", known.join(", ")),
                None => format!("known here: {}", known.join(", ")),
            };
            return text.wrong(span, format!("there is no {what} `{word}` here"), help);
        }
    }
    if message.starts_with("missing field") {
        let key = quoted.next().unwrap_or_default();
        return text.wrong(span, format!("the key `{key}` is missing here"), "");
    }
    text.wrong(span, message, "")
}

fn packs(
    text: Text<'_>,
    raw: &raw::Rules,
    beside: &dyn Fn(&str) -> Option<String>,
    settings: &mut Settings,
) -> Outcome<()> {
    if let Some(region) = &raw.region {
        if raw.packs.is_some() {
            let help = "name the packs, or the region whose usual packs you want";
            return text.wrong(region.span(), "`packs` and `region` are both given", help);
        }
        if let Err(unknown) = settings.packs.clone().region_set(region.get_ref()) {
            let help = format!("there are sets for: {}", unknown.known.join(", "));
            let message = format!("there is no set of packs for the region `{}`", unknown.name);
            return text.wrong(region.span(), message, help);
        }
        settings.choice = PackChoice::Region(region.get_ref().trim().to_owned());
    }
    let Some(named) = &raw.packs else {
        return Ok(());
    };
    let mut ids = Vec::new();
    for name in named {
        ids.push(if name.get_ref().ends_with(".toml") {
            own_pack(text, name, beside, settings)?
        } else {
            name.get_ref().clone()
        });
    }
    for (id, name) in ids.iter().zip(named) {
        if settings.packs.get(id).is_none() {
            let known: Vec<&str> = settings.packs.known().map(wimble_rules::Pack::id).collect();
            let help = match near(id, known.iter().copied()).as_slice() {
                [] => format!("known are {}", known.join(", ")),
                names => {
                    format!("did you mean {}? Known are {}", names.join(" or "), known.join(", "))
                }
            };
            return text.wrong(name.span(), format!("there is no pack `{id}`"), help);
        }
    }
    settings.choice = PackChoice::Named(ids);
    Ok(())
}

/// Reads a pack that lies beside the settings and gives its id.
fn own_pack(
    text: Text<'_>,
    name: &Spanned<String>,
    beside: &dyn Fn(&str) -> Option<String>,
    settings: &mut Settings,
) -> Outcome<String> {
    let file = name.get_ref();
    let Some(pack) = beside(file) else {
        let help = "a pack of your own lies beside the settings, under this name";
        return text.wrong(name.span(), format!("the pack {file} cannot be read"), help);
    };
    let before: Vec<String> = settings.packs.known().map(|p| p.id().to_owned()).collect();
    settings.packs = match settings.packs.clone().with_text_beside(file, &pack, beside) {
        Ok(packs) => packs,
        Err(error) => {
            return Err(Box::new(Trouble {
                path: error.pack,
                text: pack,
                span: error.span,
                message: error.message,
                help: String::new(),
            }));
        }
    };
    let added = settings.packs.known().map(wimble_rules::Pack::id);
    Ok(added.filter(|id| !before.iter().any(|b| b == id)).collect())
}

fn rules(text: Text<'_>, raw: &raw::Raw, settings: &mut Settings) -> Outcome<()> {
    let switches = settings.packs.switches();
    for (name, on) in &raw.rules.allow {
        if !switches.contains(name.get_ref()) {
            let help = format!("the packs have: {}", switches.join(", "));
            let message = format!("no pack has a switch `{}`", name.get_ref());
            return text.wrong(name.span(), message, help);
        }
        if *on {
            settings.rules.allow.insert(name.get_ref().clone());
        }
    }
    settings.rules.domestic =
        raw.rules.building_use.map(|given| given == raw::BuildingUse::Domestic);
    settings.rules.assume_bearing = raw.supports.assume_bearing.unwrap_or(true);
    let site = &raw.check.site_tolerance;
    let pairs = [
        (&site.along, &mut settings.rules.site.along_mm),
        (&site.level, &mut settings.rules.site.level_mm),
        (&site.size, &mut settings.rules.site.size_mm),
    ];
    for (given, into) in pairs {
        if let Some(given) = given {
            *into = text.length_mm(given)?;
        }
    }
    Ok(())
}

fn cut(text: Text<'_>, raw: &raw::Cut, settings: &mut Settings) -> Outcome<()> {
    settings.cross.lagging = match raw.lagging.unwrap_or(raw::Lagging::Bare) {
        raw::Lagging::Bare => LaggingMode::Bare,
        raw::Lagging::Wrap => LaggingMode::Wrap,
        raw::Lagging::Through => LaggingMode::Through,
    };
    let Some(given) = &raw.clearance else {
        return Ok(());
    };
    let span = given.span();
    let length = |text: Text<'_>, value: &toml::Value, what: &str| match value {
        toml::Value::String(length) => length::read_mm(length)
            .or_else(|why| text.wrong(span.clone(), format!("{what}: {why}"), "")),
        _ => text.wrong(
            span.clone(),
            format!("{what} is a length in quotes, with its unit"),
            "write for example clearance = \"5 mm\"",
        ),
    };
    if let toml::Value::Table(table) = given.get_ref() {
        for (kind, value) in table {
            let Some(known) = ClearanceKind::from_word(kind) else {
                let words: Vec<&str> = ClearanceKind::ALL.map(ClearanceKind::word).to_vec();
                let message = format!("there is no kind `{kind}` of clearance");
                let help = format!("known are {}", words.join(", "));
                return text.wrong(span, message, help);
            };
            let mm = length(text, value, &format!("the clearance of `{kind}`"))?;
            settings.cross.clearance.set(known, mm);
        }
    } else {
        settings.cross.clearance = Clearance::one(length(text, given.get_ref(), "a clearance")?);
    }
    Ok(())
}

fn supports(text: Text<'_>, raw: &raw::Supports, settings: &mut Settings) -> Outcome<()> {
    let recognise = &mut settings.recognise;
    recognise.accept_member_ends = raw.accept_member_ends.unwrap_or(false);
    recognise.assume_bearing = raw.assume_bearing.unwrap_or(true);
    if let Some(least) = &raw.least_bearing {
        recognise.least_bearing_mm = text.length_mm(least)?;
    }
    for stated in &raw.stated {
        let selector = selector(text, &stated.selector)?;
        let bearings_mm = intervals(text, &stated.bearings)?;
        let spans_mm = intervals(text, &stated.spans)?;
        if bearings_mm.is_empty() && spans_mm.is_empty() {
            let help = "give `bearings` or `spans`, for example [[\"0 mm\", \"100 mm\"]]";
            return text.wrong(stated.selector.span(), "nothing is stated of these members", help);
        }
        recognise.stated.push(Stated { selector, bearings_mm, spans_mm });
    }
    Ok(())
}

fn intervals(text: Text<'_>, pairs: &[[Spanned<String>; 2]]) -> Outcome<Vec<[f64; 2]>> {
    let mut read = Vec::new();
    for [from, to] in pairs {
        let (a, b) = (text.length_mm(from)?, text.length_mm(to)?);
        if b < a {
            return text.wrong(from.span().start..to.span().end, "this ends before it begins", "");
        }
        read.push([a, b]);
    }
    Ok(read)
}

fn model(text: Text<'_>, raw: raw::Model, settings: &mut Settings) -> Outcome<()> {
    settings.recognise.align_map = raw.align == Some(raw::Align::Map);
    for ignored in &raw.ignore {
        let selector = selector(text, ignored)?;
        settings.recognise.mapping.push(Mapping { selector, take: Take::Ignore });
    }
    for map in &raw.map {
        let take = match map.take {
            raw::Take::Member(kind) => Take::Member(kind),
            raw::Take::NotTimber => Take::NotTimber,
            raw::Take::Ignore => Take::Ignore,
            raw::Take::Service(kind) => Take::Service(kind),
            raw::Take::Support(carries) => Take::Support(carries),
        };
        let selector = selector(text, &map.selector)?;
        settings.recognise.mapping.push(Mapping { selector, take });
    }
    Ok(())
}

fn selector(text: Text<'_>, raw: &Spanned<raw::Selector>) -> Outcome<Selector> {
    let given = raw.get_ref().clone();
    if given == raw::Selector::default() {
        let help = "give at least one of guid, name, class, type-name, material, storey";
        return text.wrong(raw.span(), "this chooses no elements", help);
    }
    Ok(Selector {
        guid: given.guid,
        name: given.name,
        class: given.class,
        type_name: given.type_name,
        material: given.material,
        storey: given.storey,
    })
}

pub(super) fn expected(text: Text<'_>, word: &Spanned<String>) -> Outcome<Expected> {
    let found = Expected::WORDS.iter().find(|(known, _)| known == word.get_ref());
    match found {
        Some((_, expected)) => Ok(*expected),
        None => {
            let words: Vec<&str> = Expected::WORDS.iter().map(|(word, _)| *word).collect();
            let message = format!("there is no trade `{}`", word.get_ref());
            text.wrong(word.span(), message, format!("known are {}", words.join(", ")))
        }
    }
}

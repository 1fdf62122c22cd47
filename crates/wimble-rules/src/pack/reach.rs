//! Whether a rule can ever speak, and whether a range can ever hold anything.

use super::fact::{Condition, Fact, Range, Test};
use super::raw::RawRule;
use super::{KindSet, Pack, PackError, PackText};
use crate::expression::{Given, Length};
use wimble_model::CutKind;

/// Members from a light batten to a deep beam: a relation that holds for all of them holds.
fn members() -> impl Iterator<Item = Given> {
    [45.0, 97.0, 150.0, 250.0, 400.0, 900.0].into_iter().flat_map(|depth_mm| {
        [1000.0, 3600.0, 9000.0].map(|span| Given {
            depth_mm,
            breadth_mm: 45.0,
            span_mm: Some(span),
            length_mm: span + 200.0,
        })
    })
}

/// Whether `a` is nowhere less than `b`.
pub(crate) fn never_less(a: &Length, b: &Length) -> bool {
    members().all(|given| match (a.mm(&given), b.mm(&given)) {
        (Some(a), Some(b)) => a >= b,
        _ => false,
    })
}

/// Refuses a rule that can never speak.
pub(crate) fn check(
    text: &PackText<'_>,
    pack: &Pack,
    at: usize,
    raw: &RawRule,
) -> Result<(), PackError> {
    let Some(rule) = pack.rules.get(at) else { return Ok(()) };
    let never = |why: String| {
        Err(text.wrong(raw.id.span(), format!("rule `{}` can never speak: {why}", rule.id)))
    };
    if rule.cut.is_empty() {
        return never("`cut` names no kind".to_owned());
    }
    if let super::Check::Forbid { kinds } = rule.check
        && kinds.and(rule.cut).is_empty()
    {
        return never("`kinds` and `cut` have no kind in common".to_owned());
    }
    let sections = words(&pack.applies, Fact::Section);
    let kinds = words(&pack.applies, Fact::Kind);
    let may = |list: &Option<&Vec<&'static str>>, word: &'static str| {
        list.is_none_or(|list| list.contains(&word))
    };
    let i_joist = KindSet::of(&[CutKind::FlangeCut, CutKind::WebHole]);
    let webs = KindSet::of(&[CutKind::ChordCut, CutKind::WebCut]);
    let possible = rule.cut.iter().any(|kind| {
        if i_joist.has(kind) {
            may(&sections, "i-joist")
        } else if webs.has(kind) {
            may(&sections, "open-web") || may(&kinds, "truss-part")
        } else {
            true
        }
    });
    if !possible {
        return never("members of this pack's sections have no such cuts".to_owned());
    }
    for condition in &rule.when {
        let Test::Words { is, not } = &condition.test else { continue };
        if let Some(applies) = words(&pack.applies, condition.fact) {
            let left = applies
                .iter()
                .any(|word| (is.is_empty() || is.contains(word)) && !not.contains(word));
            if !left {
                return never(format!(
                    "its `when` asks for a {} that the pack does not apply to",
                    condition.fact.word()
                ));
            }
        }
    }
    if !rule.always && !rule.is_scope() {
        for scope in pack.rules.iter().filter(|r| r.is_scope() && r.when.is_empty()) {
            let super::Check::Member(Condition { fact, test: Test::Lengths(scope) }) = &scope.check
            else {
                continue;
            };
            for condition in rule.when.iter().filter(|c| c.fact == *fact) {
                if let Test::Lengths(wanted) = &condition.test
                    && apart(scope, wanted)
                {
                    return never(format!(
                        "its `when` asks for a {} outside the pack's scope",
                        fact.word()
                    ));
                }
            }
        }
    }
    Ok(())
}

/// The words that a list of conditions asks of a fact.
fn words(conditions: &[Condition], fact: Fact) -> Option<&Vec<&'static str>> {
    conditions.iter().find(|c| c.fact == fact).and_then(|c| match &c.test {
        Test::Words { is, .. } if !is.is_empty() => Some(is),
        _ => None,
    })
}

/// Whether two ranges have nothing in common.
fn apart(a: &Range<Length>, b: &Range<Length>) -> bool {
    let over = |low: Option<&Length>, high: Option<&Length>| match (low, high) {
        (Some(low), Some(high)) => low != high && never_less(low, high),
        _ => false,
    };
    let low = |r: &Range<Length>| r.at_least.clone().or_else(|| r.above.clone());
    let high = |r: &Range<Length>| r.at_most.clone().or_else(|| r.below.clone());
    over(low(a).as_ref(), high(b).as_ref()) || over(low(b).as_ref(), high(a).as_ref())
}

//! What is odd in a model, as warnings: of each kind a few, and how many more there are.

use crate::scene::Warning;
use std::collections::BTreeMap;
use wimble_ifc::Diagnostic;

/// So many of a kind are told one by one.
const ONE_BY_ONE: usize = 3;

/// Warnings in the order of the file. An exporter that gets something wrong does so everywhere: what
/// differs in its figures only is of one kind.
pub(super) fn told(input: u32, diagnostics: Vec<Diagnostic>) -> Vec<Warning> {
    let mut kinds: BTreeMap<String, Vec<Diagnostic>> = BTreeMap::new();
    for diagnostic in diagnostics {
        let kind: String = diagnostic.text.chars().filter(|c| !c.is_ascii_digit()).collect();
        kinds.entry(kind).or_default().push(diagnostic);
    }
    let mut warnings = Vec::new();
    for of_kind in kinds.into_values() {
        let rest = of_kind.len().saturating_sub(ONE_BY_ONE);
        // One more is told as itself, in the place of the words that there is one more.
        let shown = if rest > 1 { ONE_BY_ONE } else { of_kind.len() };
        let mut of_kind = of_kind.into_iter();
        let of_one = |diagnostic: Diagnostic, text: String| Warning {
            input: Some(input),
            line: diagnostic.line,
            text,
        };
        for diagnostic in of_kind.by_ref().take(shown) {
            let text = diagnostic.text.clone();
            warnings.push(of_one(diagnostic, text));
        }
        if let Some(next) = of_kind.next() {
            let text = format!("{rest} more of this kind, from here on: {}", next.text);
            warnings.push(of_one(next, text));
        }
    }
    warnings.sort_by(|a, b| (a.line, &a.text).cmp(&(b.line, &b.text)));
    warnings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_each_kind_a_few_are_told_and_the_rest_counted() {
        let odd = |line: u64, what: &str| Diagnostic {
            line: Some(line),
            instance: Some(line),
            text: format!("#{line}: {what}"),
        };
        let bad: Vec<Diagnostic> = (1..=9).map(|line| odd(line, "has 3 bad faces")).collect();
        let four = (11..=14).map(|line| odd(line, "is open"));
        let all = bad.into_iter().chain(four).collect();
        let texts: Vec<String> = told(0, all).into_iter().map(|warning| warning.text).collect();
        assert_eq!(
            texts,
            [
                "#1: has 3 bad faces",
                "#2: has 3 bad faces",
                "#3: has 3 bad faces",
                "6 more of this kind, from here on: #4: has 3 bad faces",
                "#11: is open",
                "#12: is open",
                "#13: is open",
                "#14: is open",
            ]
        );
    }
}

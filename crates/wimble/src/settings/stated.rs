//! The settings as evidence: what was stated, one `key = value` each.

/// Every value of the file under its whole key, in the order of the keys.
pub(super) fn read(text: &str) -> Vec<String> {
    let mut lines = Vec::new();
    if let Ok(table) = text.parse::<toml::Table>() {
        walk("", &toml::Value::Table(table), &mut lines);
    }
    lines
}

fn walk(key: &str, value: &toml::Value, lines: &mut Vec<String>) {
    match value {
        toml::Value::Table(table) => {
            for (name, value) in table {
                let key = if key.is_empty() { name.clone() } else { format!("{key}.{name}") };
                walk(&key, value, lines);
            }
        }
        toml::Value::Array(rows) if rows.iter().any(toml::Value::is_table) => {
            for (at, row) in (1..).zip(rows) {
                walk(&format!("{key}.{at}"), row, lines);
            }
        }
        value => lines.push(format!("{key} = {value}")),
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_value_is_stated_under_its_whole_key() {
        let lines =
            super::read("[cut]\nclearance = { waste = \"5 mm\" }\n[[waive]]\nreason = \"x\"\n");
        assert_eq!(lines, ["cut.clearance.waste = \"5 mm\"", "waive.1.reason = \"x\""]);
    }
}

//! The time that files are stamped with: what the user gives, never the clock.

use anyhow::{Context, Result};

/// Seconds since 1970 of `SOURCE_DATE_EPOCH`; `None` without it, so that runs repeat byte for byte.
///
/// # Errors
/// It is set and is no whole number.
pub(crate) fn seconds() -> Result<Option<i64>> {
    #[expect(clippy::disallowed_methods, reason = "the one place that asks for the time given")]
    let given = std::env::var("SOURCE_DATE_EPOCH").ok();
    read(given.as_deref())
}

fn read(given: Option<&str>) -> Result<Option<i64>> {
    let Some(given) = given.map(str::trim).filter(|given| !given.is_empty()) else {
        return Ok(None);
    };
    let seconds = given.parse().ok().filter(|s| jiff::Timestamp::from_second(*s).is_ok());
    let told =
        || format!("SOURCE_DATE_EPOCH is {given:?}: give whole seconds since 1970, or unset it");
    seconds.map(Some).with_context(told)
}

/// `2026-03-01T12:00:00`, in UTC.
pub(crate) fn spelt(seconds: i64) -> String {
    let time = jiff::Timestamp::from_second(seconds).unwrap_or(jiff::Timestamp::UNIX_EPOCH);
    time.strftime("%Y-%m-%dT%H:%M:%S").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_given_or_not() {
        assert_eq!(read(None).unwrap(), None);
        assert_eq!(read(Some("")).unwrap(), None);
        assert_eq!(read(Some("1735689600")).unwrap(), Some(1_735_689_600));
        assert_eq!(spelt(1_735_689_600), "2025-01-01T00:00:00");
        for wrong in ["yesterday", "1.5", "99999999999999999"] {
            let told = read(Some(wrong)).unwrap_err().to_string();
            assert!(told.starts_with("SOURCE_DATE_EPOCH is "), "{told}");
        }
    }
}

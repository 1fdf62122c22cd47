//! When a report is issued: by the user's word, by `SOURCE_DATE_EPOCH`, or not at all.

use crate::stamp;
use anyhow::{Result, anyhow};
use jiff::{Timestamp, civil::Date, tz::TimeZone};

/// The time of issue: what `--time` says, else `SOURCE_DATE_EPOCH`, else none.
pub(crate) fn of_issue(given: Option<&str>) -> Result<Option<Timestamp>> {
    match given {
        Some(text) => read(text).map(Some),
        None => Ok(stamp::seconds()?.and_then(|s| Timestamp::from_second(s).ok())),
    }
}

/// The day on which waivers are held against their last day: that of the issue, else today. The
/// one place where the clock is read; nothing of it but whether a waiver holds is in any report.
pub(crate) fn day(issue: Option<Timestamp>) -> Date {
    TimeZone::UTC.to_datetime(issue.unwrap_or_else(now)).date()
}

fn read(text: &str) -> Result<Timestamp> {
    if let Ok(time) = text.parse::<Timestamp>() {
        return Ok(time);
    }
    let day = text.parse::<Date>().map_err(|_| {
        anyhow!("--time {text}: write a day (2026-11-25) or a time (2026-11-25T14:00:00Z)")
    })?;
    Ok(TimeZone::UTC.to_timestamp(day.at(0, 0, 0, 0))?)
}

fn now() -> Timestamp {
    Timestamp::now()
}

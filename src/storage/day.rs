//! The day of today, for records and reports.

use std::time::{SystemTime, UNIX_EPOCH};

/// Today as year-month-day (ISO 8601), counted in UTC.
pub fn today() -> String {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    day(since.as_secs() / 86_400)
}

/// The date of a day counted from 1970-01-01 in the Gregorian calendar.
fn day(mut left: u64) -> String {
    let is_leap =
        |year: u64| year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let mut year = 1970;
    loop {
        let days = if is_leap(year) { 366 } else { 365 };
        if left < days {
            break;
        }
        left -= days;
        year += 1;
    }
    let february = if is_leap(year) { 29 } else { 28 };
    let mut month = 1;
    for days in [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] {
        if left < days {
            break;
        }
        left -= days;
        month += 1;
    }
    format!("{year:04}-{month:02}-{:02}", left + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Checked against `date -u -d @SECONDS +%F` of GNU coreutils 9.1.
    #[test]
    fn days_are_those_of_the_calendar() {
        for (number, date) in [
            (0, "1970-01-01"),
            (11_016, "2000-02-29"),
            (11_017, "2000-03-01"),
            (19_722, "2023-12-31"),
            (19_723, "2024-01-01"),
            (20_782, "2026-11-25"),
            (47_541, "2100-03-01"),
        ] {
            assert_eq!(day(number), date);
        }
    }
}

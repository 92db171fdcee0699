//! Dates and times of day that exist.

use super::error::CalendarError;

/// Checks a day against its month; without a year, 29 February exists.
pub(super) fn check_date(year: Option<u16>, month: u8, day: u8) -> Result<(), CalendarError> {
    let days = days_of_month(year, month);
    if day <= days { Ok(()) } else { Err(CalendarError::Day { year, month, day, days }) }
}

/// Days of a month, from 1; of any year where none is given.
pub fn days_of_month(year: Option<u16>, month: u8) -> u8 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if year.is_none_or(is_leap) => 29,
        2 => 28,
        _ => 31,
    }
}

/// Checks that hour 24 is midnight.
pub(super) fn check_time(hour: i64, minute: i64, second: i64) -> Result<(), CalendarError> {
    if hour == 24 && (minute, second) != (0, 0) { Err(CalendarError::Midnight) } else { Ok(()) }
}

fn is_leap(year: u16) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(date: (Option<u16>, u8, u8), expected: bool) {
        assert_eq!(check_date(date.0, date.1, date.2).is_ok(), expected, "{date:?}");
    }

    #[test]
    fn knows_leap_years() {
        check((Some(2000), 2, 29), true);
        check((Some(2024), 2, 29), true);
        check((Some(2026), 2, 29), false);
        check((Some(1900), 2, 29), false);
        check((None, 2, 29), true);
        check((None, 2, 30), false);
        check((Some(2026), 4, 31), false);
        check((Some(2026), 12, 31), true);
    }
}

//! The clock, read here and nowhere else.

use std::time::{SystemTime, UNIX_EPOCH};
use voltwright_workshop::Moment;

/// Now.
#[allow(clippy::disallowed_methods, reason = "the edge of the program: what happened is kept with its time")]
pub fn now() -> Moment {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Moment(u64::try_from(since.as_millis()).unwrap_or(u64::MAX))
}

/// A moment as people write it, to the minute, in universal time: the workshop does not know where it stands.
pub fn shown(moment: Moment) -> String {
    let seconds = moment.0 / 1000;
    let (year, month, day) = date(seconds / 86_400);
    format!("{year}-{month:02}-{day:02} {:02}:{:02} UTC", seconds / 3600 % 24, seconds / 60 % 60)
}

/// The time of day of a moment, to the second, in universal time; a page's script may show it as the clock on the wall does.
pub fn time(moment: Moment) -> maud::Markup {
    let seconds = moment.0 / 1000;
    let (year, month, day) = date(seconds / 86_400);
    let of_day = format!("{:02}:{:02}:{:02}", seconds / 3600 % 24, seconds / 60 % 60, seconds % 60);
    let whole = format!("{year}-{month:02}-{day:02}T{of_day}Z");
    maud::html! { time datetime=(whole) { (of_day) " UTC" } }
}

/// The date of a day, counted from 1970-01-01: years of 365.2425 days that begin in March, so that the odd day comes last.
fn date(day: u64) -> (u64, u64, u64) {
    let shifted = day + 719_468;
    let (era, of_era) = (shifted / 146_097, shifted % 146_097);
    let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let march = (5 * of_year + 2) / 153;
    let (day, month) = (of_year - (153 * march + 2) / 5 + 1, if march < 10 { march + 3 } else { march - 9 });
    (era * 400 + year_of_era + u64::from(month <= 2), month, day)
}

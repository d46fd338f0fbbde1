//! The moment a picture was taken.

use std::fmt;

/// When a picture was taken, by the camera's own clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Captured {
    /// Seconds on the camera's clock since 1970-01-01 00:00 on that same clock, fractions included.
    pub clock: f64,
    /// How far the clock was ahead of universal time, s, where the camera noted it.
    pub ahead: Option<i32>,
}

impl Captured {
    /// Reads Exif's texts: `2024:05:01 13:45:12`, `+02:00` and the digits after the second's decimal point.
    /// `None` where the date is blank or there is no such moment.
    pub(crate) fn parse(
        date: &[u8],
        offset: Option<&[u8]>,
        fraction: Option<&[u8]>,
    ) -> Option<Self> {
        let date = text(date)?;
        let (day, time) = date.split_once(' ')?;
        let [year, month, day] = three(day)?;
        let [hour, minute, second] = three(time)?;
        if year == 0 || !(1..=12).contains(&month) || day == 0 || day > days_of(year, month) {
            return None;
        }
        // 60 is a leap second.
        if hour > 23 || minute > 59 || second > 60 {
            return None;
        }
        let whole = days_since_1970(year, month, day) * 86_400 + hour * 3600 + minute * 60 + second;
        let fraction = fraction.and_then(text).map_or(0.0, part_of_second);
        Some(Self {
            clock: whole as f64 + fraction,
            ahead: offset.and_then(text).and_then(ahead),
        })
    }

    /// Seconds from another picture's moment to this one's. Where only one of the two notes how far its clock was
    /// ahead of universal time, both clocks are taken to show the same time.
    #[must_use]
    pub fn since(&self, earlier: &Self) -> f64 {
        let between = self.clock - earlier.clock;
        match (self.ahead, earlier.ahead) {
            (Some(own), Some(other)) => between - (f64::from(own) - f64::from(other)),
            _ => between,
        }
    }
}

impl fmt::Display for Captured {
    /// As in ISO 8601, to the second: `2024-05-01 13:45:12 +02:00`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let whole = self.clock.floor() as i64;
        let (year, month, day) = date_of(whole.div_euclid(86_400));
        let second = whole.rem_euclid(86_400);
        write!(
            out,
            "{year:04}-{month:02}-{day:02} {:02}:{:02}:{:02}",
            second / 3600,
            second / 60 % 60,
            second % 60
        )?;
        if let Some(ahead) = self.ahead {
            let (sign, minutes) = (if ahead < 0 { '-' } else { '+' }, ahead.abs() / 60);
            write!(out, " {sign}{:02}:{:02}", minutes / 60, minutes % 60)?;
        }
        Ok(())
    }
}

/// A text up to its end mark.
fn text(bytes: &[u8]) -> Option<&str> {
    let end = bytes.iter().position(|byte| *byte == 0);
    let bytes = bytes.get(..end.unwrap_or(bytes.len()))?;
    std::str::from_utf8(bytes).ok().map(str::trim)
}

/// Three whole numbers with colons between them.
fn three(text: &str) -> Option<[i64; 3]> {
    let mut parts = text.split(':').map(digits);
    let numbers = [parts.next()??, parts.next()??, parts.next()??];
    parts.next().is_none().then_some(numbers)
}

/// A number of one to four digits and nothing else.
fn digits(text: &str) -> Option<i64> {
    let plain = (1..=4).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
    plain.then(|| text.parse().ok())?
}

fn part_of_second(text: &str) -> f64 {
    let digits: String = text
        .chars()
        .take_while(char::is_ascii_digit)
        .take(9)
        .collect();
    format!("0.{digits}0").parse().unwrap_or(0.0)
}

/// `+02:00` in s; no place is more than 14 h from universal time.
fn ahead(text: &str) -> Option<i32> {
    let (sign, rest) = match text.split_at_checked(1)? {
        ("+", rest) => (1, rest),
        ("-", rest) => (-1, rest),
        _ => return None,
    };
    let (hours, minutes) = rest.split_once(':')?;
    let (hours, minutes) = (digits(hours)?, digits(minutes)?);
    (hours <= 14 && minutes <= 59).then_some(())?;
    i32::try_from(sign * (hours * 3600 + minutes * 60)).ok()
}

const fn is_leap(year: i64) -> bool {
    year % 4 == 0 && (year % 100 != 0 || year % 400 == 0)
}

const fn days_of(year: i64, month: i64) -> i64 {
    match month {
        2 if is_leap(year) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days from 1970-01-01 in the Gregorian calendar; years count from March, so that the leap day is the last
/// (H. Hinnant, "chrono-compatible low-level date algorithms", from memory).
const fn days_since_1970(year: i64, month: i64, day: i64) -> i64 {
    let year = if month <= 2 { year - 1 } else { year };
    let era = year.div_euclid(400);
    let of_era = year.rem_euclid(400);
    let day_of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
    era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + day_of_year - 719_468
}

/// The inverse of [`days_since_1970`]: year, month, day.
const fn date_of(days: i64) -> (i64, i64, i64) {
    let days = days + 719_468;
    let era = days.div_euclid(146_097);
    let of_era = days.rem_euclid(146_097);
    let year = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let day_of_year = of_era - (365 * year + year / 4 - year / 100);
    let shifted = (5 * day_of_year + 2) / 153;
    let month = if shifted < 10 {
        shifted + 3
    } else {
        shifted - 9
    };
    let day = day_of_year - (153 * shifted + 2) / 5 + 1;
    let year = year + era * 400 + (month <= 2) as i64;
    (year, month, day)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(date: &str) -> Option<Captured> {
        Captured::parse(date.as_bytes(), None, None)
    }

    /// Seconds from GNU `date -u -d … +%s`.
    #[test]
    fn moments_count_from_1970() {
        for (date, seconds) in [
            ("1970:01:01 00:00:00", 0.0),
            ("2024:05:01 13:45:12", 1_714_571_112.0),
            ("2000:02:29 23:59:59", 951_868_799.0),
            ("2026:12:31 00:00:01\0", 1_798_675_201.0),
        ] {
            assert_eq!(at(date).unwrap().clock, seconds, "{date}");
        }
    }

    #[test]
    fn dates_are_written_as_they_were_read() {
        for days in (0..40_000).step_by(13) {
            let (year, month, day) = date_of(days);
            assert_eq!(days_since_1970(year, month, day), days);
            assert!((1..=days_of(year, month)).contains(&day));
        }
        let taken = Captured::parse(b"2024:05:01 13:45:12", Some(b"-03:30"), Some(b"75")).unwrap();
        assert_eq!(taken.to_string(), "2024-05-01 13:45:12 -03:30");
    }

    #[test]
    fn fractions_and_time_zones_count() {
        let one = Captured::parse(b"2024:05:01 13:45:12", Some(b"+02:00"), Some(b"25 \0")).unwrap();
        let other = Captured::parse(b"2024:05:01 12:46:12", Some(b"+01:00\0"), Some(b"5")).unwrap();
        let bare = at("2024:05:01 13:45:42").unwrap();
        assert_eq!(other.since(&one), 60.25);
        assert_eq!(bare.since(&one), 29.75);
        assert_eq!(Captured { ahead: None, ..one }.since(&bare), -29.75);
    }

    #[test]
    fn blank_and_impossible_dates_are_none() {
        for date in [
            "    :  :     :  :  ",
            "0000:00:00 00:00:00",
            "2023:02:29 10:00:00",
            "2024:13:01 10:00:00",
            "2024:05:01 24:00:00",
            "2024:05:01",
            "2024-05-01 10:00:00",
            "99999:05:01 10:00:00",
            "2024:05:01 10:00:00:00",
            "",
        ] {
            assert_eq!(at(date), None, "{date}");
        }
        for offset in ["", "02:00", "+15:00", "+02", "é2:00", "+2:99"] {
            let taken = Captured::parse(b"2024:05:01 13:45:12", Some(offset.as_bytes()), None);
            assert_eq!(taken.unwrap().ahead, None, "{offset}");
        }
    }
}

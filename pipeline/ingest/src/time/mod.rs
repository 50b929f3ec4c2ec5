//! Times as they are written in logs and sheets, read from bytes without allocation.

mod clock;
mod date;
mod digits;
mod elapsed;
mod format;
mod stamp;

pub(crate) use clock::{offset_text, parse_clock_only, parse_clock_with_offset, parse_offset};
pub(crate) use date::{DAY_MS, days_of, parse_date};
pub(crate) use elapsed::parse_since;
pub use format::TimeFormat;
pub(crate) use stamp::{Stamp, parse, parse_iso, parse_iso_date, parse_number};

#[cfg(test)]
mod tests {
    use super::*;

    fn ms(text: &str) -> i64 {
        text.parse::<jiff::Timestamp>().unwrap().as_millisecond()
    }

    #[test]
    fn iso_times_agree_with_jiff() {
        for (written, meant) in [
            ("2026-05-02T06:00:00Z", "2026-05-02T06:00:00Z"),
            ("2026-05-02 06:00", "2026-05-02T06:00:00Z"),
            ("2026/05/02 6:00:30.25", "2026-05-02T06:00:30.25Z"),
            ("2024-02-29T23:59:59.999", "2024-02-29T23:59:59.999Z"),
            ("2026-05-02 06:00:00 PM", "2026-05-02T18:00:00Z"),
        ] {
            let stamp = parse_iso(written.as_bytes()).unwrap();
            assert_eq!(stamp.ms, ms(meant), "{written}");
        }
        let stamp = parse_iso(b"2026-05-02T06:00:00-05:00").unwrap();
        assert_eq!((stamp.ms, stamp.offset), (ms("2026-05-02T06:00:00Z"), Some(-18_000)));
        for bad in ["2026-02-29T06:00", "2026-05-02", "2026-05-02T25:00", "2026-05-02T06:00:00x"] {
            assert_eq!(parse_iso(bad.as_bytes()), None, "{bad}");
        }
    }

    #[test]
    fn dates_in_other_orders() {
        let at = |format, text: &str| parse(format, text.as_bytes(), None).map(|s| s.ms);
        let may = Some(ms("2026-05-02T18:30:00Z"));
        assert_eq!(at(TimeFormat::DayFirst, "02.05.2026 18:30"), may);
        assert_eq!(at(TimeFormat::MonthFirst, "5/2/2026 6:30 PM"), may);
        assert_eq!(at(TimeFormat::YearFirst, "26/05/02 18:30"), may);
        assert_eq!(at(TimeFormat::MonthName, "2 May 2026 18:30"), may);
        assert_eq!(at(TimeFormat::MonthName, "May 2, 2026 6:30 pm"), may);
        assert_eq!(at(TimeFormat::DayFirst, "05/14/2026 18:30"), None);
        assert_eq!(parse(TimeFormat::DayFirst, b"02/05/26", Some(b"18:30:00")).map(|s| s.ms), may);
        for written in [
            "02-May-26 18:30:00",
            "2026-May-02 18:30",
            "Sat, 2 May 2026 6:30 p. m.",
            "Saturday May 2 2026 18:30",
            "2. Mai 2026 18:30",
            "2 maggio 2026 18:30",
        ] {
            assert_eq!(at(TimeFormat::MonthName, written), may, "{written}");
        }
        assert_eq!(at(TimeFormat::Iso, "20260502T1830"), may);
        assert_eq!(at(TimeFormat::Iso, "20260502T183000Z"), may);
        // Day 46144 of the 1900 system is 2026-05-02 (by hand: 46 022 is 2025-12-31).
        assert_eq!(at(TimeFormat::SerialDays, "46144.7708333"), may);
        assert_eq!(at(TimeFormat::SerialDays, "46144,770833333336"), may);
        assert_eq!(at(TimeFormat::UnixMicroseconds, "1777746600000000"), may);
    }

    #[test]
    fn elapsed_times() {
        let at = |format, text: &str| parse(format, text.as_bytes(), None).map(|s| s.ms);
        assert_eq!(at(TimeFormat::ElapsedHms, "26:00:30"), Some(93_630_000));
        assert_eq!(at(TimeFormat::ElapsedHms, "0:00:01.5"), Some(1500));
        assert_eq!(at(TimeFormat::ElapsedHms, "-0:00:01.5"), Some(-1500));
        for written in [
            "1d 02:00:30",
            "1 day, 2:00:30",
            "1 02:00:30",
            "1.02:00:30",
            "1:02:00:30",
            "1d 2h 30s",
            "26h 0m 30s",
        ] {
            assert_eq!(at(TimeFormat::ElapsedHms, written), Some(93_630_000), "{written}");
        }
        assert_eq!(at(TimeFormat::ElapsedHm, "1:30"), Some(5_400_000));
        assert_eq!(at(TimeFormat::ElapsedMs, "75:30"), Some(4_530_000));
        assert_eq!(at(TimeFormat::ElapsedMinutes, "1,5"), Some(90_000));
        assert_eq!(at(TimeFormat::ElapsedHms, "0:75:00"), None);
        assert_eq!(parse_since(b"+6:30"), Some(23_400_000));
        assert_eq!(parse_since(b"+0:00:10"), Some(10_000));
        assert_eq!(parse_since(b"6:30"), None);
    }

    #[test]
    fn days_agree_with_jiff_over_two_centuries() {
        let mut date = jiff::civil::date(1950, 1, 1);
        for _ in 0..73_000 {
            let at = jiff::tz::TimeZone::UTC.to_timestamp(date.at(0, 0, 0, 0)).unwrap().as_second();
            assert_eq!(
                days_of(date.year().into(), date.month().into(), date.day().into()),
                Some(at / 86_400 - i64::from(at % 86_400 < 0))
            );
            date = date.tomorrow().unwrap();
        }
    }

    #[test]
    fn offsets() {
        assert_eq!(parse_offset(b"+05:30"), Some(19_800));
        assert_eq!(parse_offset(b"-0500"), Some(-18_000));
        assert_eq!(parse_offset(b"Z"), Some(0));
        assert_eq!(parse_offset(b"CST"), None);
    }
}

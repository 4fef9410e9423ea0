//! Spans of time and shares, as settings state them.

use chrono::TimeDelta;

/// Why a setting is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{what} must be from {low} to {high}, not {given}")]
pub struct SpanError {
    /// What is stated.
    pub what: &'static str,
    /// The least allowed.
    pub low: u32,
    /// The most allowed.
    pub high: u32,
    /// What was given.
    pub given: u32,
}

const fn within(given: u32, low: u32, high: u32) -> bool {
    low <= given && given <= high
}

macro_rules! span {
    ($(#[$doc:meta])* $name:ident, $what:literal, $low:literal, $high:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(u32);

        impl $name {
            /// The span, or why it is refused.
            ///
            /// # Errors
            /// Where the number is out of the range given above.
            pub const fn new(given: u32) -> Result<Self, SpanError> {
                if !within(given, $low, $high) {
                    return Err(SpanError { what: $what, low: $low, high: $high, given });
                }
                Ok(Self(given))
            }

            /// The span nearest to a number of the settings. The shell has refused one out of range before it comes here.
            pub fn nearest(given: u32) -> Self {
                Self(given.clamp($low, $high))
            }

            /// The plain number.
            pub const fn get(self) -> u32 {
                self.0
            }
        }
    };
}

span!(
    /// Whole minutes, from 1 to a week: never nothing, so that nothing is due again at once for ever.
    Minutes, "minutes", 1, 10_080
);
span!(
    /// Whole hours, from 0 to a year.
    Hours, "hours", 0, 8_784
);
span!(
    /// A share in whole per cent, from 0 to 100.
    Percent, "a per cent", 0, 100
);

impl Minutes {
    /// As a difference of times.
    pub fn delta(self) -> TimeDelta {
        TimeDelta::minutes(i64::from(self.0))
    }
}

impl Hours {
    /// As a difference of times.
    pub fn delta(self) -> TimeDelta {
        TimeDelta::hours(i64::from(self.0))
    }
}

impl Percent {
    /// Whether `part` of `whole` is at least this share. Nothing of nothing is no share.
    pub fn reached_by(self, part: u32, whole: u32) -> bool {
        whole > 0 && u64::from(part) * 100 >= u64::from(self.0) * u64::from(whole)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_out_of_range_is_refused_with_the_range() {
        assert_eq!(Minutes::new(0).unwrap_err().to_string(), "minutes must be from 1 to 10080, not 0");
        assert!(Hours::new(0).is_ok());
        assert!(Percent::new(101).is_err());
    }

    #[test]
    fn a_share_is_exact_at_its_threshold() {
        let two = Percent::new(2).unwrap();
        assert!(two.reached_by(1, 50));
        assert!(!two.reached_by(1, 51));
        assert!(!two.reached_by(0, 0));
        assert!(two.reached_by(u32::MAX, u32::MAX));
    }

    #[test]
    fn a_setting_out_of_range_is_taken_at_the_nearest_end() {
        assert_eq!(Minutes::nearest(0).get(), 1);
        assert_eq!(Hours::nearest(u32::MAX).get(), 8_784);
    }
}

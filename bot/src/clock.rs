//! The clock as a seam: the real one, and one that a rehearsal or a test sets.

use std::future::Future;
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use chrono::{DateTime, Utc};

/// Tells the time and waits for it.
pub trait Clock: Send + Sync {
    /// The time.
    fn now(&self) -> DateTime<Utc>;

    /// For how long a thread may sleep before it must look at the clock again, if it wants to wake at `at`.
    fn patience(&self, at: DateTime<Utc>) -> Duration;

    /// Waits until a moment; at once where it has passed.
    fn sleep_until(&self, at: DateTime<Utc>) -> Pin<Box<dyn Future<Output = ()> + Send + '_>> {
        Box::pin(async move {
            while self.now() < at {
                tokio::time::sleep(self.patience(at)).await;
            }
        })
    }
}

/// The machine's clock.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealClock;

/// A machine's clock may be set while somebody sleeps, so nobody sleeps longer than this at a time.
const LONGEST_SLEEP: Duration = Duration::from_secs(20);

impl Clock for RealClock {
    fn now(&self) -> DateTime<Utc> {
        Utc::now()
    }

    fn patience(&self, at: DateTime<Utc>) -> Duration {
        (at - self.now()).to_std().unwrap_or(Duration::ZERO).min(LONGEST_SLEEP)
    }
}

/// A clock that stands still until it is set. Clones are the same clock.
#[derive(Debug, Clone)]
pub struct ManualClock(Arc<Mutex<DateTime<Utc>>>);

impl ManualClock {
    /// A clock that shows this time.
    pub fn at(now: DateTime<Utc>) -> Self {
        ManualClock(Arc::new(Mutex::new(now)))
    }

    /// Sets the time. Those who wait for it notice within some milliseconds.
    pub fn set(&self, now: DateTime<Utc>) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = now;
    }
}

impl Clock for ManualClock {
    fn now(&self) -> DateTime<Utc> {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn patience(&self, at: DateTime<Utc>) -> Duration {
        if at <= self.now() { Duration::ZERO } else { Duration::from_millis(5) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(minutes: i64) -> DateTime<Utc> {
        DateTime::UNIX_EPOCH + chrono::Duration::minutes(minutes)
    }

    #[test]
    fn a_moment_that_has_passed_is_not_waited_for() {
        assert_eq!(RealClock.patience(moment(0)), Duration::ZERO);
        assert_eq!(ManualClock::at(moment(5)).patience(moment(5)), Duration::ZERO);
    }

    #[test]
    fn nobody_sleeps_through_a_clock_that_is_set() {
        assert_eq!(RealClock.patience(Utc::now() + chrono::Duration::days(1)), LONGEST_SLEEP);
    }

    #[tokio::test]
    async fn a_sleeper_wakes_when_a_manual_clock_reaches_its_moment() {
        let clock = ManualClock::at(moment(0));
        let setter = clock.clone();
        let sleeper = tokio::spawn(async move { clock.sleep_until(moment(10)).await });
        tokio::time::sleep(Duration::from_millis(20)).await;
        assert!(!sleeper.is_finished());
        setter.set(moment(10));
        sleeper.await.expect("it wakes");
    }
}

//! The books: balances by account and line, changed only by movements.

use std::collections::BTreeMap;

use super::{Account, Certainty, Purse};
use crate::consignment::LineKey;

/// Whole fish of one line that go from one purse to another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Movement {
    /// Whose fish.
    pub line: LineKey,
    /// Where they were.
    pub from: Purse,
    /// Where they are now.
    pub to: Purse,
    /// How many.
    pub count: u32,
}

impl Movement {
    /// The movement that takes this one back.
    pub fn reversed(&self) -> Movement {
        Movement { line: self.line, from: self.to.clone(), to: self.from.clone(), count: self.count }
    }
}

/// Fish of one line in one account.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Held {
    /// Believed from the list.
    pub presumed: u32,
    /// Counted.
    pub counted: u32,
}

impl Held {
    /// Both together.
    pub fn total(self) -> u32 {
        self.presumed + self.counted
    }
}

/// All balances. A source's balance is what it has given, as a negative number, so that each line's sum is always zero.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Books {
    balances: BTreeMap<(Purse, LineKey), i64>,
}

impl Books {
    /// Moves fish. Never fails: whether a movement may be made is decided before it is recorded.
    pub fn apply(&mut self, movement: &Movement) {
        let count = i64::from(movement.count);
        self.add(&movement.from, movement.line, -count);
        self.add(&movement.to, movement.line, count);
    }

    fn add(&mut self, purse: &Purse, line: LineKey, count: i64) {
        let key = (purse.clone(), line);
        let balance = self.balances.entry(key.clone()).or_insert(0);
        *balance += count;
        if *balance == 0 {
            self.balances.remove(&key);
        }
    }

    /// The balance of one purse; negative for a source that has given fish.
    pub fn balance(&self, purse: &Purse, line: LineKey) -> i64 {
        self.balances.get(&(purse.clone(), line)).copied().unwrap_or(0)
    }

    /// Fish of one line in one account.
    pub fn held(&self, account: &Account, line: LineKey) -> Held {
        let of = |certainty| {
            let purse = Purse { account: account.clone(), certainty };
            u32::try_from(self.balance(&purse, line)).unwrap_or(0)
        };
        Held { presumed: of(Certainty::Presumed), counted: of(Certainty::Counted) }
    }

    /// The lines with fish in one account, in their order.
    pub fn lines_in(&self, account: &Account) -> BTreeMap<LineKey, Held> {
        let mut lines: BTreeMap<LineKey, Held> = BTreeMap::new();
        for certainty in [Certainty::Presumed, Certainty::Counted] {
            let purse = Purse { account: account.clone(), certainty };
            let low = (purse.clone(), FIRST);
            for ((found, line), balance) in self.balances.range(low..) {
                if *found != purse {
                    break;
                }
                let held = lines.entry(*line).or_default();
                let fish = u32::try_from(*balance).unwrap_or(0);
                match certainty {
                    Certainty::Presumed => held.presumed += fish,
                    Certainty::Counted => held.counted += fish,
                }
            }
        }
        lines
    }

    /// All fish of one account.
    pub fn total_in(&self, account: &Account) -> Held {
        self.lines_in(account).values().fold(Held::default(), |sum, held| Held {
            presumed: sum.presumed + held.presumed,
            counted: sum.counted + held.counted,
        })
    }

    /// Every balance that is not zero.
    pub fn all(&self) -> impl Iterator<Item = (&Purse, LineKey, i64)> {
        self.balances.iter().map(|((purse, line), balance)| (purse, *line, *balance))
    }

    /// What is wrong with the books: a line whose accounts do not sum to what its sources gave, or an account below nothing.
    pub fn faults(&self) -> Vec<Fault> {
        let mut sums: BTreeMap<LineKey, i64> = BTreeMap::new();
        let mut faults = Vec::new();
        for ((purse, line), balance) in &self.balances {
            *sums.entry(*line).or_default() += balance;
            if *balance < 0 && !purse.account.is_source() {
                faults.push(Fault::BelowNothing { line: *line, purse: purse.clone(), balance: *balance });
            }
        }
        faults.extend(
            sums.into_iter().filter(|(_, sum)| *sum != 0).map(|(line, sum)| Fault::Unbalanced { line, over: sum }),
        );
        faults
    }
}

/// A fault in the books. None can arise while only movements change them and each is checked before it is recorded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// An account holds fewer than no fish.
    BelowNothing {
        /// Whose fish.
        line: LineKey,
        /// Where.
        purse: Purse,
        /// How many.
        balance: i64,
    },
    /// The sum over all accounts is not what the sources gave.
    Unbalanced {
        /// Whose fish.
        line: LineKey,
        /// How many too many.
        over: i64,
    },
}

const FIRST: LineKey = LineKey { consignment: crate::consignment::ConsignmentNo(0), line: 0 };

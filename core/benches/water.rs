//! Degas cases a second beside a plain reckoning without activities, and the time of a whole plan.
//!
//! `cargo bench -p holdfast-core --bench water`

use std::hint::black_box;

use divan::Bencher;
use divan::counter::ItemsCount;
use holdfast_core::quantity::{AlkalinityCaCO3, CarbonDioxideMicroatm, Celsius, OxygenMgL, Ph, TotalAmmoniaN};
use holdfast_core::water::FreshWater;
use holdfast_core::water::plan::{Bag, PlanLimits, Water, plan};

const CASES: usize = 1000;
const AIR: f64 = 600.0;

fn main() {
    divan::main();
}

/// Temperature, pH, alkalinity and ammonia of bags, spread over what comes in a night.
fn bags() -> Vec<(f64, f64, f64, f64)> {
    let spread = |nth: usize, times: usize, low: f64, high: f64| {
        low + (high - low) * ((nth * times) % CASES) as f64 / CASES as f64
    };
    (0..CASES)
        .map(|nth| {
            let ammonia = spread(nth, 389, 0.0, 25.0);
            let alkalinity = spread(nth, 233, 20.0, 200.0) + 3.573 * ammonia;
            (spread(nth, 1, 15.0, 32.0), spread(nth, 617, 5.6, 7.8), alkalinity, ammonia)
        })
        .collect()
}

fn water((celsius, ph, alkalinity, ammonia): (f64, f64, f64, f64)) -> FreshWater {
    let quantities =
        (Celsius::new(celsius), Ph::new(ph), AlkalinityCaCO3::new(alkalinity), TotalAmmoniaN::new(ammonia));
    let (Ok(celsius), Ok(ph), Ok(alkalinity), Ok(ammonia)) = quantities else {
        unreachable!("all of them are possible")
    };
    FreshWater::new(celsius, ph, alkalinity, ammonia).expect("a water")
}

/// From what was measured to the pH and NH3 of the opened water.
#[divan::bench]
fn degas_cases(bencher: Bencher) {
    let (bags, air) = (bags(), CarbonDioxideMicroatm::new(AIR).expect("possible"));
    bencher.counter(ItemsCount::new(CASES)).bench(|| {
        for bag in black_box(&bags) {
            let opened = water(*bag).under(air).expect("in range");
            black_box((opened.ph().expect("in range"), opened.unionised().expect("in range")));
        }
    });
}

/// The same question the plain way: constants of the same papers, no activities, pH by halving an interval 60 times.
#[divan::bench]
fn degas_cases_plainly(bencher: Bencher) {
    let bags = bags();
    bencher.counter(ItemsCount::new(CASES)).bench(|| {
        for (celsius, _, alkalinity, ammonia) in black_box(&bags) {
            black_box(plainly(*celsius, *alkalinity, *ammonia));
        }
    });
}

fn plainly(celsius: f64, alkalinity: f64, ammonia: f64) -> (f64, f64) {
    let t = celsius + 273.15;
    let log = |a: f64, b: f64, c: f64, d: f64, e: f64| 10f64.powf(a + b * t + c / t + d * t.log10() + e / (t * t));
    let k1 = log(-356.3094, -0.06091964, 21834.37, 126.8339, -1684915.0);
    let k2 = log(-107.8871, -0.03252849, 5151.79, 38.92561, -563713.9);
    let henry = log(108.3865, 0.01985076, -6919.53, -40.45154, 669365.0);
    let kw = log(-283.971, -0.05069842, 13323.0, 102.24447, -1119669.0);
    let ka = 10f64.powf(-(0.09018 + 2729.92 / t));
    let (equivalents, moles, x) = (alkalinity / 50_043.45, ammonia / 14_006.7, henry * AIR * 1e-6);
    let (mut low, mut high) = (2.0, 12.0);
    for _ in 0..60 {
        let ph = 0.5 * (low + high);
        let h = 10f64.powf(-ph);
        let sum = x * k1 / h + 2.0 * x * k1 * k2 / (h * h) + kw / h - h + moles * ka / (ka + h);
        if sum < equivalents {
            low = ph;
        } else {
            high = ph;
        }
    }
    let ph = 0.5 * (low + high);
    (ph, ammonia / (1.0 + 10f64.powf(-ph) / ka))
}

/// A whole plan: three ways, minute by minute, and the recommendation. It must take less than a millisecond.
#[divan::bench(args = ["foul", "clean", "no oxygen"])]
fn a_plan(bencher: Bencher, kind: &str) {
    let (bag, oxygen) = match kind {
        "foul" => ((20.0, 6.1, 103.6, 15.0), None),
        "clean" => ((20.0, 6.8, 50.0, 0.2), None),
        _ => ((20.0, 6.1, 103.6, 15.0), OxygenMgL::new(2.0).ok()),
    };
    let bag = Bag { water: Water::Fresh(water(bag)), oxygen };
    let tank = Water::Fresh(water((27.0, 7.6, 80.0, 0.0)));
    let limits = PlanLimits::default();
    bencher.bench(|| plan(black_box(&bag), black_box(&tank), None, &limits).expect("in range"));
}

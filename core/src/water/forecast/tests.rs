use super::*;
use crate::quantity::Celsius;
use crate::water::Metabolism;

/// Numbers that look random and are the same in every run (splitmix64).
struct Chance(u64);

impl Chance {
    /// From 0 to 1.
    fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (mixed ^ (mixed >> 31)) as f64 / u64::MAX as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// As likely half as twice.
    fn times(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// Around 1, by this standard deviation of its logarithm.
    fn about(&mut self, deviation: f64) -> f64 {
        let sum: f64 = (0..12).map(|_| self.share()).sum();
        ((sum - 6.0) * deviation).exp()
    }
}

fn air() -> CarbonDioxideMicroatm {
    CarbonDioxideMicroatm::new(600.0).unwrap()
}

fn bag(load: f64, hours: f64, temperature: f64, alkalinity: f64) -> SealedBag {
    let temperature = Celsius::new(temperature).unwrap();
    let alkalinity = AlkalinityCaCO3::new(alkalinity).unwrap();
    let packed_in = FreshWater::new(temperature, Ph::new(7.4).unwrap(), alkalinity, TotalAmmoniaN::new(0.2).unwrap());
    SealedBag { load, headspace: 2.0, oxygen_share: 1.0, hours, temperature, packed_in: packed_in.unwrap() }
}

/// A consignment of 20 bags as the literature's ranges allow, not as the forecast assumes: its metabolism is drawn evenly
/// between the ends of [`super::super::bag`]'s sources. Gives for each bag the forecast before it was opened and the truth.
fn consignment(chance: &mut Chance) -> Vec<(Forecast, [f64; 3])> {
    let kind = Metabolism {
        oxygen: chance.times(120.0, 350.0),
        respiratory_quotient: chance.between(0.8, 1.0),
        ammonia_quotient: chance.times(0.05, 0.2),
    };
    let (hours, temperature) = (chance.between(16.0, 40.0), chance.between(20.0, 28.0));
    let alkalinity = chance.between(30.0, 120.0);
    let mut learned = Learned::default();
    let bags = (0..20).map(|_| {
        let bag = bag(chance.times(15.0, 100.0), hours, temperature, alkalinity);
        let own = Metabolism { oxygen: kind.oxygen * chance.about(0.2), ..kind };
        let truth = bag.opened(own).unwrap().water;
        let gassed = truth.under(air()).unwrap();
        let values =
            [truth.ammonia().unwrap().get(), truth.carbon_dioxide().unwrap().get(), gassed.unionised().unwrap().get()];
        let forecast = bag.forecast(&learned, &[], air()).unwrap();
        let measured = Measured {
            ammonia: TotalAmmoniaN::new(values[0] * chance.about(0.15)).ok(),
            ph: Ph::new(truth.ph().unwrap().get() + chance.about(0.05).ln()).ok(),
            alkalinity: None,
        };
        learned.learn(&bag, measured, &[]).unwrap();
        (forecast, values)
    });
    bags.collect()
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

#[test]
fn bags_that_were_opened_teach_of_those_still_closed() {
    let mut chance = Chance(7);
    let consignments: Vec<_> = (0..1000).map(|_| consignment(&mut chance)).collect();
    let bands: [fn(&Forecast) -> Band; 3] = [|f| f.ammonia, |f| f.carbon_dioxide, |f| f.nh3_opened];
    for (at, band) in bands.into_iter().enumerate() {
        let error = |nth: usize| {
            median(consignments.iter().map(|bags| (band(&bags[nth].0).mid / bags[nth].1[at]).ln().abs()).collect())
        };
        let (first, last) = (error(0), error(19));
        if at != 1 {
            assert!(last * 2.0 <= first, "{at}: {first} at the first bag, {last} at the last");
        } else {
            assert!(last * 1.5 <= first, "carbon dioxide: {first}, {last}");
        }
        for nth in [0, 5, 19] {
            let held = consignments.iter().filter(|bags| band(&bags[nth].0).holds(bags[nth].1[at])).count();
            assert!((800..=950).contains(&held), "value {at}, bag {nth}: the band holds {held} of 1000");
        }
    }
}

#[test]
fn what_is_missing_makes_the_band_wider_and_is_said() {
    let bag = bag(60.0, 30.0, 25.0, 60.0);
    let sure = bag.forecast(&Learned::default(), &[], air()).unwrap();
    let width = |band: Band| band.high / band.low;
    for missing in [Missing::Size, Missing::Litres, Missing::Hours, Missing::Temperature] {
        let unsure = bag.forecast(&Learned::default(), &[missing], air()).unwrap();
        assert!(width(unsure.ammonia) > 1.02 * width(sure.ammonia), "{missing:?}");
        assert_eq!(unsure.missing, [missing]);
    }
    let unsure = bag.forecast(&Learned::default(), &[Missing::PackingWater], air()).unwrap();
    assert!(width(unsure.nh3_opened) > width(sure.nh3_opened));
    assert!(unsure.ph_opened.high - unsure.ph_opened.low > sure.ph_opened.high - sure.ph_opened.low);
}

#[test]
fn a_forecast_is_in_order_and_opening_turns_ammonia_toxic() {
    let forecast = bag(80.0, 32.0, 25.0, 60.0).forecast(&Learned::default(), &[], air()).unwrap();
    for band in [forecast.ammonia, forecast.carbon_dioxide, forecast.ph_sealed, forecast.ph_opened, forecast.oxygen] {
        assert!(band.low <= band.mid && band.mid <= band.high, "{band:?}");
    }
    assert!(forecast.ph_opened.mid > forecast.ph_sealed.mid + 1.0);
    assert!(forecast.nh3_opened.mid > 20.0 * forecast.nh3_sealed.mid);
}

#[test]
fn readings_that_cannot_be_true_teach_nothing() {
    let bag = bag(60.0, 30.0, 25.0, 60.0);
    let mut learned = Learned::default();
    let measured = Measured { ph: Ph::new(12.0).ok(), ..Measured::default() };
    assert!(learned.learn(&bag, measured, &[]).is_err());
    assert_eq!(learned, Learned::default());
    learned.learn(&bag, Measured::default(), &[]).unwrap();
    assert_eq!(learned.bags(), 0);
}

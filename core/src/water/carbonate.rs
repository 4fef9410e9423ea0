//! The carbonate system of fresh water: what pH the water has, what it will have when it is opened or mixed.
//!
//! Constants: Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011-1040 (0-90 °C), and for water the fit to Harned &
//! Owen 1958 that goes with them. Activities: Davies' equation with the dielectric constant of Malmberg & Maryott 1956 (the
//! equation from memory, confirmed numerically); ionic strength is taken as the alkalinity, as of a sodium bicarbonate
//! water. Leaving activities out would overstate CO2 by 2 to 10 % and the opened pH by up to 0.04. Hard calcium water has up
//! to 0.07 less pH than is given here, for ion pairs are not modelled: that errs to the safe side.
//!
//! Ammonia is part of the alkalinity. What fish excrete is NH3; it takes up H⁺ from the CO2 in the water and so raises
//! alkalinity by one equivalent for each mole. Leaving it out puts the opened pH of a fouled bag 0.3 too low and its NH3 at
//! half.

use super::error::{Unsound, within};
use super::{KELVIN, acid_constant};
use crate::quantity::{
    AlkalinityCaCO3, CarbonDioxideMgL, CarbonDioxideMicroatm, Celsius, Litres, Ph, TotalAmmoniaN, UnionisedAmmoniaN,
};

const FORMULA: &str = "the carbonate system of fresh water (Plummer & Busenberg 1982)";
/// mg/L as CaCO3 of one equivalent per litre.
const CACO3_PER_EQUIVALENT: f64 = 50_043.45;
/// mg of CO2 in a mole.
const CO2_MG_PER_MOLE: f64 = 44_009.5;
/// mg of nitrogen in a mole.
const NITROGEN_MG_PER_MOLE: f64 = 14_006.7;
/// Gas constant, L atm / (mol K).
pub(super) const GAS: f64 = 0.082057;
/// The pH between which a water is sought.
const ACID: f64 = 2.0;
const ALKALINE: f64 = 12.0;

/// Fresh water by what mixing and gas exchange conserve: temperature, alkalinity, inorganic carbon and ammonia. pH is none
/// of these, and follows from them.
///
/// ```
/// use holdfast_core::quantity::{AlkalinityCaCO3, CarbonDioxideMicroatm, Celsius, Ph, TotalAmmoniaN};
/// use holdfast_core::water::FreshWater;
/// // A fouled bag: pH 6.1, 15 mg/L of ammonia. Opened, its pH climbs and its ammonia turns to NH3.
/// let alkalinity = AlkalinityCaCO3::new(103.6)?;
/// let bag = FreshWater::new(Celsius::new(25.0)?, Ph::new(6.11)?, alkalinity, TotalAmmoniaN::new(15.0)?)?;
/// let opened = bag.under(CarbonDioxideMicroatm::new(600.0)?)?;
/// assert!((opened.ph()?.get() - 8.30).abs() < 0.02);
/// assert!((opened.unionised()?.get() - 1.47).abs() < 0.05);
/// # Ok::<(), holdfast_core::water::Unsound>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreshWater {
    celsius: f64,
    /// Equivalents per litre, ammonia's share included.
    alkalinity: f64,
    /// Dissolved inorganic carbon, mol/L.
    carbon: f64,
    /// Total ammonia, mol/L.
    ammonia: f64,
}

/// The constants at a temperature, with the activity coefficients worked in.
#[derive(Debug, Clone, Copy)]
struct Constants {
    /// [HCO3-] = X k1 / h.
    k1: f64,
    /// [CO3--] = X k2 / h².
    k2: f64,
    /// [OH-] = kw / h.
    kw: f64,
    /// [H+] = h / g1.
    g1: f64,
    /// mol/L/atm.
    henry: f64,
    /// [NH3] / [NH4+] = ammonium / h.
    ammonium: f64,
}

impl Constants {
    fn at(celsius: f64, ionic_strength: f64) -> Result<Self, Unsound> {
        within(FORMULA, ("temperature", "°C"), (0.0, 50.0), celsius)?;
        let strength = within("Davies' equation", ("ionic strength", "mol/L"), (0.0, 0.1), ionic_strength.max(0.0))?;
        let t = celsius + KELVIN;
        let (log_t, inverse) = (t.log10(), 1.0 / t);
        let power = |a: f64, b: f64, c: f64, d: f64, e: f64| {
            10f64.powf(a + b * t + c * inverse + d * log_t + e * inverse * inverse)
        };
        let k1 = power(-356.3094, -0.06091964, 21834.37, 126.8339, -1684915.0);
        let k2 = power(-107.8871, -0.03252849, 5151.79, 38.92561, -563713.9);
        let henry = power(108.3865, 0.01985076, -6919.53, -40.45154, 669365.0);
        let kw = power(-283.971, -0.05069842, 13323.0, 102.24447, -1119669.0);
        let dielectric = 87.740 - 0.40008 * celsius + 9.398e-4 * celsius.powi(2) - 1.410e-6 * celsius.powi(3);
        let slope = 1.8248e6 * (dielectric * t).powf(-1.5);
        let root = strength.sqrt();
        let g1 = 10f64.powf(-slope * (root / (1.0 + root) - 0.3 * strength));
        let g2 = g1.powi(4);
        let ammonium = g1 * 10f64.powf(-acid_constant(Celsius::new(celsius)?, None)?);
        Ok(Constants { k1: k1 / g1, k2: k1 * k2 / g2, kw: kw / g1, g1, henry, ammonium })
    }

    /// Alkalinity that is not carbonate, with its slope by ln h.
    fn rest(&self, h: f64, ammonia: f64) -> (f64, f64) {
        let hydroxide = self.kw / h;
        let hydrogen = h / self.g1;
        let share = self.ammonium / (self.ammonium + h);
        (hydroxide - hydrogen + ammonia * share, -hydroxide - hydrogen - ammonia * share * (1.0 - share))
    }
}

/// The h at which a function that falls with ln h takes this value: Newton's steps, kept inside of a bracket.
fn solve(what: impl Fn(f64) -> (f64, f64), value: f64) -> Result<f64, Unsound> {
    let (mut low, mut high) = (-ALKALINE * std::f64::consts::LN_10, -ACID * std::f64::consts::LN_10);
    let mut at = -7.0 * std::f64::consts::LN_10;
    if !(what(low.exp()).0 >= value && what(high.exp()).0 <= value) {
        let given = if what(low.exp()).0 < value { 14.0 } else { 0.0 };
        return Err(Unsound::OutOfRange { formula: FORMULA, what: "pH", unit: "", range: (ACID, ALKALINE), given });
    }
    for _ in 0..60 {
        let (found, slope) = what(at.exp());
        let off = found - value;
        if off > 0.0 {
            low = at;
        } else {
            high = at;
        }
        let mut next = at - off / slope;
        if !(low < next && next < high) {
            next = 0.5 * (low + high);
        }
        if (next - at).abs() < 1e-12 {
            return Ok(next.exp());
        }
        at = next;
    }
    Ok(at.exp())
}

impl FreshWater {
    /// Water as it was measured. The alkalinity is that of the water as it is, its ammonia included; where it is that of the
    /// water the fish were packed in, see [`FreshWater::fouled`].
    ///
    /// # Errors
    /// Out of the range of the formulas, or where pH and alkalinity cannot be true of one water.
    pub fn new(
        temperature: Celsius,
        ph: Ph,
        alkalinity: AlkalinityCaCO3,
        ammonia: TotalAmmoniaN,
    ) -> Result<Self, Unsound> {
        let equivalents = alkalinity.get() / CACO3_PER_EQUIVALENT;
        let ammonia = ammonia.get() / NITROGEN_MG_PER_MOLE;
        let constants = Constants::at(temperature.get(), equivalents)?;
        let h = 10f64.powf(-ph.get());
        let x = carbonic(&constants, h, equivalents, ammonia)
            .ok_or(Unsound::Contradiction { ph: ph.get(), alkalinity: alkalinity.get() })?;
        let carbon = x * (1.0 + constants.k1 / h + constants.k2 / (h * h));
        Ok(FreshWater { celsius: temperature.get(), alkalinity: equivalents, carbon, ammonia })
    }

    /// The same water after fish gave off this much ammonia and carbon dioxide in it: one equivalent of alkalinity for each
    /// mole of ammonia (3.573 mg/L as CaCO3 for each mg/L of N).
    pub fn fouled(mut self, ammonia: TotalAmmoniaN, carbon_dioxide: CarbonDioxideMgL) -> Self {
        let moles = ammonia.get() / NITROGEN_MG_PER_MOLE;
        self.ammonia += moles;
        self.alkalinity += moles;
        self.carbon += carbon_dioxide.get() / CO2_MG_PER_MOLE;
        self
    }

    /// The same water at another temperature.
    pub fn at(mut self, temperature: Celsius) -> Self {
        self.celsius = temperature.get();
        self
    }

    /// The water after its carbon dioxide has shared itself with a closed gas space above it, in litres for each litre of
    /// water, that held none. A bag with two thirds of gas has 2; leaving it out makes CO2 three times too much.
    ///
    /// # Errors
    /// Out of the range of the formulas.
    pub fn sealed(mut self, headspace: f64) -> Result<Self, Unsound> {
        let headspace = within("a sealed bag", ("headspace", "L/L"), (0.0, 50.0), headspace)?;
        let constants = self.constants()?;
        let in_gas = headspace / (constants.henry * GAS * (self.celsius + KELVIN));
        let h = self.hydrogen(&constants, in_gas)?;
        let dissolved = 1.0 + constants.k1 / h + constants.k2 / (h * h);
        self.carbon *= dissolved / (dissolved + in_gas);
        Ok(self)
    }

    /// Inorganic carbon of this water and of the gas at rest with it, mol for each litre of water: the other way round from
    /// [`FreshWater::sealed`].
    ///
    /// # Errors
    /// Out of the range of the formulas.
    pub fn with_gas(&self, headspace: f64) -> Result<f64, Unsound> {
        let headspace = within("a sealed bag", ("headspace", "L/L"), (0.0, 50.0), headspace)?;
        let (constants, x) = self.carbonic()?;
        Ok(self.carbon + x * headspace / (constants.henry * GAS * (self.celsius + KELVIN)))
    }

    /// The same water with so many times its alkalinity, at the pH of before as nearly as its carbon goes with it.
    pub(super) fn with_alkalinity(mut self, times: f64) -> Self {
        self.alkalinity *= times;
        self.carbon *= times;
        self
    }

    /// The water at the end of its exchange with air of this much carbon dioxide: alkalinity stays, and what pH it had
    /// before does not matter. Outdoor air has about 420 µatm, a room with people in it 600 to 1500.
    ///
    /// # Errors
    /// Out of the range of the formulas.
    pub fn under(mut self, air: CarbonDioxideMicroatm) -> Result<Self, Unsound> {
        let constants = self.constants()?;
        let x = constants.henry * air.get() * 1e-6;
        let h = solve(
            |h| {
                let (one, two) = (x * constants.k1 / h, x * constants.k2 / (h * h));
                let (rest, slope) = constants.rest(h, self.ammonia);
                (one + 2.0 * two + rest, slope - one - 4.0 * two)
            },
            self.alkalinity,
        )?;
        self.carbon = x * (1.0 + constants.k1 / h + constants.k2 / (h * h));
        Ok(self)
    }

    /// Water that has stood long under this air, of which only temperature, pH and ammonia are known: a tank. Its
    /// alkalinity follows from them.
    ///
    /// # Errors
    /// Out of the range of the formulas; where no water at rest with this air has that pH.
    ///
    /// ```
    /// use holdfast_core::quantity::{CarbonDioxideMicroatm, Celsius, Ph, TotalAmmoniaN};
    /// use holdfast_core::water::FreshWater;
    /// let (none, air) = (TotalAmmoniaN::new(0.0)?, CarbonDioxideMicroatm::new(600.0)?);
    /// let tank = FreshWater::at_rest(Celsius::new(25.0)?, Ph::new(7.8)?, none, air)?;
    /// assert!((tank.alkalinity()?.get() - 29.0).abs() < 2.0, "mg/L as CaCO3");
    /// # Ok::<(), holdfast_core::water::Unsound>(())
    /// ```
    pub fn at_rest(
        temperature: Celsius,
        ph: Ph,
        ammonia: TotalAmmoniaN,
        air: CarbonDioxideMicroatm,
    ) -> Result<Self, Unsound> {
        let (celsius, ammonia) = (temperature.get(), ammonia.get() / NITROGEN_MG_PER_MOLE);
        let h = 10f64.powf(-ph.get());
        // The activities depend on the alkalinity that is sought: a few rounds settle it.
        let (mut alkalinity, mut carbon) = (1e-3, 0.0);
        for _ in 0..8 {
            let constants = Constants::at(celsius, alkalinity)?;
            let x = constants.henry * air.get() * 1e-6;
            let (one, two) = (x * constants.k1 / h, x * constants.k2 / (h * h));
            alkalinity = one + 2.0 * two + constants.rest(h, ammonia).0;
            carbon = x + one + two;
        }
        within(FORMULA, ("alkalinity", "mol/L"), (0.0, 0.1), alkalinity)?;
        Ok(FreshWater { celsius, alkalinity, carbon, ammonia })
    }

    /// The water after a part of the way to equilibrium with the air: of the carbon that has to leave (or to come), the
    /// share `exp(-rate × time)` is still there.
    ///
    /// # Errors
    /// Out of the range of the formulas.
    pub fn towards(self, air: CarbonDioxideMicroatm, left: f64) -> Result<Self, Unsound> {
        let left = within("gas exchange", ("share left", ""), (0.0, 1.0), left)?;
        let end = self.under(air)?;
        Ok(FreshWater { carbon: end.carbon + (self.carbon - end.carbon) * left, ..self })
    }

    /// Waters brought together without gas exchange: temperature, alkalinity, carbon and ammonia by volume; never pH.
    ///
    /// # Errors
    /// Where there is no water.
    pub fn mix(waters: &[(Litres, FreshWater)]) -> Result<Self, Unsound> {
        let volume: f64 = waters.iter().map(|(litres, _)| litres.get()).sum();
        if waters.is_empty() {
            return Err(Unsound::NoWater);
        }
        let sum = |of: fn(&FreshWater) -> f64| {
            waters.iter().map(|(litres, water)| litres.get() * of(water)).sum::<f64>() / volume
        };
        Ok(FreshWater {
            celsius: sum(|water| water.celsius),
            alkalinity: sum(|water| water.alkalinity),
            carbon: sum(|water| water.carbon),
            ammonia: sum(|water| water.ammonia),
        })
    }

    /// Its temperature.
    ///
    /// # Errors
    /// None in practice: it came from temperatures.
    pub fn temperature(&self) -> Result<Celsius, Unsound> {
        Ok(Celsius::new(self.celsius)?)
    }

    /// Its pH.
    ///
    /// # Errors
    /// Out of the range of the formulas.
    pub fn ph(&self) -> Result<Ph, Unsound> {
        let h = self.hydrogen(&self.constants()?, 0.0)?;
        Ok(Ph::new(-h.log10())?)
    }

    /// Its alkalinity, ammonia's share included.
    ///
    /// # Errors
    /// Where it is spent.
    pub fn alkalinity(&self) -> Result<AlkalinityCaCO3, Unsound> {
        Ok(AlkalinityCaCO3::new(self.alkalinity * CACO3_PER_EQUIVALENT)?)
    }

    /// Its total ammonia.
    ///
    /// # Errors
    /// None in practice.
    pub fn ammonia(&self) -> Result<TotalAmmoniaN, Unsound> {
        Ok(TotalAmmoniaN::new(self.ammonia * NITROGEN_MG_PER_MOLE)?)
    }

    /// Its NH3, by the equilibrium of Emerson 1975, which holds below pH 6 too. NH4+ is charged: its activity is that of the
    /// rest of the model, which gives 5 % less NH3 than [`super::unionised_ammonia`] at an ionic strength of 0.002.
    ///
    /// # Errors
    /// Out of the range of the formulas.
    pub fn unionised(&self) -> Result<UnionisedAmmoniaN, Unsound> {
        let constants = self.constants()?;
        let h = self.hydrogen(&constants, 0.0)?;
        Ok(UnionisedAmmoniaN::new(self.ammonia()?.get() * constants.ammonium / (constants.ammonium + h))?)
    }

    /// Its pH and its NH3, mg/L as N: both of one solution, for courses of many minutes.
    pub(super) fn ph_and_unionised(&self) -> Result<(f64, f64), Unsound> {
        let constants = self.constants()?;
        let h = self.hydrogen(&constants, 0.0)?;
        let share = constants.ammonium / (constants.ammonium + h);
        Ok((-h.log10(), self.ammonia * NITROGEN_MG_PER_MOLE * share))
    }

    /// The same water with this much inorganic carbon, mol/L.
    pub(super) fn with_carbon(self, carbon: f64) -> Self {
        FreshWater { carbon, ..self }
    }

    /// Its carbon dioxide (with the carbonic acid).
    ///
    /// # Errors
    /// Out of the range of the formulas.
    pub fn carbon_dioxide(&self) -> Result<CarbonDioxideMgL, Unsound> {
        Ok(CarbonDioxideMgL::new(self.carbonic()?.1 * CO2_MG_PER_MOLE)?)
    }

    /// The air that would be at rest with it.
    ///
    /// # Errors
    /// Out of the range of the formulas.
    pub fn pressure(&self) -> Result<CarbonDioxideMicroatm, Unsound> {
        let (constants, x) = self.carbonic()?;
        Ok(CarbonDioxideMicroatm::new(x / constants.henry * 1e6)?)
    }

    /// Dissolved inorganic carbon, mol/L.
    pub fn carbon(&self) -> f64 {
        self.carbon
    }

    fn constants(&self) -> Result<Constants, Unsound> {
        Constants::at(self.celsius, self.alkalinity)
    }

    fn carbonic(&self) -> Result<(Constants, f64), Unsound> {
        let constants = self.constants()?;
        let h = self.hydrogen(&constants, 0.0)?;
        Ok((constants, self.carbon / (1.0 + constants.k1 / h + constants.k2 / (h * h))))
    }

    /// The hydrogen-ion activity where the carbon is shared with a gas space that holds `in_gas` moles for each mole of CO2
    /// in the water.
    fn hydrogen(&self, constants: &Constants, in_gas: f64) -> Result<f64, Unsound> {
        let balance = |h: f64| {
            let (one, two) = (constants.k1 / h, constants.k2 / (h * h));
            let (charge, all) = (one + 2.0 * two, 1.0 + in_gas + one + two);
            let (rest, slope) = constants.rest(h, self.ammonia);
            let of_carbonate = (charge * (one + 2.0 * two) - (one + 4.0 * two) * all) / (all * all);
            (self.carbon * charge / all + rest, self.carbon * of_carbonate + slope)
        };
        solve(balance, self.alkalinity)
    }
}

/// CO2 with its carbonic acid, mol/L, in water of this alkalinity at this pH; `None` where it would be less than nothing.
fn carbonic(constants: &Constants, h: f64, alkalinity: f64, ammonia: f64) -> Option<f64> {
    let (rest, _) = constants.rest(h, ammonia);
    let x = (alkalinity - rest) / (constants.k1 / h + 2.0 * constants.k2 / (h * h));
    (x >= 0.0).then_some(x)
}

/// Carbon dioxide in water of this pH and alkalinity, without ammonia.
///
/// # Errors
/// As [`FreshWater::new`].
///
/// ```
/// use holdfast_core::{quantity::{AlkalinityCaCO3, Celsius, Ph}, water::carbon_dioxide};
/// let bag = carbon_dioxide(Celsius::new(25.0)?, Ph::new(6.0)?, AlkalinityCaCO3::new(50.0)?)?;
/// assert!((bag.get() - 95.1).abs() < 1.0, "mg/L of CO2");
/// # Ok::<(), holdfast_core::water::Unsound>(())
/// ```
pub fn carbon_dioxide(temperature: Celsius, ph: Ph, alkalinity: AlkalinityCaCO3) -> Result<CarbonDioxideMgL, Unsound> {
    FreshWater::new(temperature, ph, alkalinity, TotalAmmoniaN::new(0.0)?)?.carbon_dioxide()
}

/// The pH of waters brought together without gas exchange, without ammonia.
///
/// # Errors
/// As [`FreshWater::new`] and [`FreshWater::mix`].
pub fn ph_of_mix(waters: &[(Litres, Celsius, Ph, AlkalinityCaCO3)]) -> Result<Ph, Unsound> {
    let none = TotalAmmoniaN::new(0.0)?;
    let waters: Result<Vec<_>, Unsound> = waters
        .iter()
        .map(|(litres, temperature, ph, alkalinity)| {
            Ok((*litres, FreshWater::new(*temperature, *ph, *alkalinity, none)?))
        })
        .collect();
    FreshWater::mix(&waters?)?.ph()
}

/// The pH of water that has come to rest with air of this much carbon dioxide, without ammonia.
///
/// # Errors
/// Out of the range of the formulas.
pub fn ph_under_air(
    temperature: Celsius,
    alkalinity: AlkalinityCaCO3,
    air: CarbonDioxideMicroatm,
) -> Result<Ph, Unsound> {
    let equivalents = alkalinity.get() / CACO3_PER_EQUIVALENT;
    let water = FreshWater { celsius: temperature.get(), alkalinity: equivalents, carbon: 0.0, ammonia: 0.0 };
    water.under(air)?.ph()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn water(celsius: f64, ph: f64, alkalinity: f64, ammonia: f64) -> FreshWater {
        let made = FreshWater::new(
            Celsius::new(celsius).unwrap(),
            Ph::new(ph).unwrap(),
            AlkalinityCaCO3::new(alkalinity).unwrap(),
            TotalAmmoniaN::new(ammonia).unwrap(),
        );
        made.unwrap()
    }

    fn air(microatm: f64) -> CarbonDioxideMicroatm {
        CarbonDioxideMicroatm::new(microatm).unwrap()
    }

    /// Water of this alkalinity with CO2 and ammonia given to it, sealed under two litres of gas for each litre, then opened.
    fn bag(alkalinity: f64, ammonia: f64, millimoles: f64) -> (FreshWater, FreshWater) {
        // The table does not say the pH of the packing water; 7.3 is what its rows agree with.
        let packed = water(25.0, 7.3, alkalinity, 0.0);
        let co2 = CarbonDioxideMgL::new(millimoles * CO2_MG_PER_MOLE / 1000.0).unwrap();
        let sealed = packed.fouled(TotalAmmoniaN::new(ammonia).unwrap(), co2).sealed(2.0).unwrap();
        (sealed, sealed.under(air(600.0)).unwrap())
    }

    #[test]
    fn the_constants_are_the_published_ones() {
        // Plummer & Busenberg 1982 at 25 °C: log K1 -6.3519, log K2 -10.3289, log KH -1.4679; log Kw -13.9995.
        let constants = Constants::at(25.0, 0.0).unwrap();
        let log = |value: f64| value.log10();
        assert!((log(constants.k1) + 6.3519).abs() < 2e-4);
        assert!((log(constants.k2) + 6.3519 + 10.3289).abs() < 4e-4);
        assert!((log(constants.henry) + 1.4679).abs() < 2e-4);
        assert!((log(constants.kw) + 13.9995).abs() < 2e-4);
    }

    #[test]
    fn a_fouled_bag_comes_out_as_phreeqc_has_it() {
        // phreeqpython, vitens.dat, redox-uncoupled ammonia, 25 °C, 2 L of gas for each litre, then opened to 600 µatm:
        // packing alkalinity, ammonia, mmol CO2; sealed pH, CO2, pCO2 atm; opened pH, NH3-N.
        let rows = [
            (50.0, 15.0, 12.65, 6.107, 152.4, 0.1003, 8.298, Some(1.456)),
            (50.0, 0.0, 12.65, 5.759, 166.4, 0.1095, 8.014, None),
            (20.0, 8.0, 8.0, 5.978, 97.5, 0.0642, 7.989, Some(0.407)),
            (150.0, 15.0, 12.65, 6.386, 154.5, 0.1017, 8.576, Some(2.499)),
        ];
        for (alkalinity, ammonia, millimoles, ph, co2, pressure, opened_ph, nh3) in rows {
            let (sealed, opened) = bag(alkalinity, ammonia, millimoles);
            let case = format!("{alkalinity} {ammonia} {millimoles}");
            assert!((sealed.ph().unwrap().get() - ph).abs() < 0.012, "{case}: {:?}", sealed.ph());
            assert!(
                (sealed.carbon_dioxide().unwrap().get() / co2 - 1.0).abs() < 0.02,
                "{case}: {:?}",
                sealed.carbon_dioxide()
            );
            assert!((sealed.pressure().unwrap().get() / 1e6 / pressure - 1.0).abs() < 0.02, "{case}");
            assert!((opened.ph().unwrap().get() - opened_ph).abs() < 0.012, "{case}: {:?}", opened.ph());
            if let Some(nh3) = nh3 {
                assert!(
                    (opened.unionised().unwrap().get() / nh3 - 1.0).abs() < 0.03,
                    "{case}: {:?}",
                    opened.unionised()
                );
            }
        }
    }

    #[test]
    fn readings_that_no_water_has_are_refused() {
        let made = FreshWater::new(
            Celsius::new(25.0).unwrap(),
            Ph::new(11.5).unwrap(),
            AlkalinityCaCO3::new(20.0).unwrap(),
            TotalAmmoniaN::new(0.0).unwrap(),
        );
        assert_eq!(
            made.unwrap_err().to_string(),
            "pH 11.5 and alkalinity 20 mg/L as CaCO3 cannot be true of one water: measure both again"
        );
    }

    proptest! {
        #[test]
        fn the_ph_given_is_the_ph_found(t in 1.0..45.0, ph in 5.5..9.0, alk in 10.0..400.0, tan in 0.0..20.0) {
            let made = FreshWater::new(
                Celsius::new(t).unwrap(), Ph::new(ph).unwrap(),
                AlkalinityCaCO3::new(alk).unwrap(), TotalAmmoniaN::new(tan).unwrap(),
            );
            prop_assume!(made.is_ok());
            prop_assert!((made.unwrap().ph().unwrap().get() - ph).abs() < 1e-8);
        }

        #[test]
        fn mixing_keeps_what_it_must_and_its_ph_lies_within_reason(
            (a, x, p) in (0.1..50.0, 20.0..300.0, 5.8..8.6), (b, y, q) in (0.1..50.0, 20.0..300.0, 5.8..8.6),
        ) {
            let (one, two) = (water(25.0, p, x, 1.0), water(22.0, q, y, 0.0));
            let (va, vb) = (Litres::new(a).unwrap(), Litres::new(b).unwrap());
            let mix = FreshWater::mix(&[(va, one), (vb, two)]).unwrap();
            for of in [|w: &FreshWater| w.alkalinity, |w: &FreshWater| w.carbon, |w: &FreshWater| w.ammonia] {
                let (before, after) = (a * of(&one) + b * of(&two), (a + b) * of(&mix));
                prop_assert!((before - after).abs() <= 1e-9 * (a + b));
            }
            let ph = mix.ph().unwrap().get();
            prop_assert!(ph > f64::min(p, q) - 0.35 && ph < f64::max(p, q) + 0.35);
        }

        #[test]
        fn air_decides_the_ph_of_opened_water_whatever_it_was(t in 10.0..35.0, ph in 5.8..8.4, alk in 20.0..300.0, co2 in 400.0..1500.0) {
            let opened = water(t, ph, alk, 0.0).under(air(co2)).unwrap();
            let direct = ph_under_air(Celsius::new(t).unwrap(), AlkalinityCaCO3::new(alk).unwrap(), air(co2)).unwrap();
            prop_assert!((opened.ph().unwrap().get() - direct.get()).abs() < 1e-9);
            prop_assert!((opened.pressure().unwrap().get() / co2 - 1.0).abs() < 1e-6);
            let stale = water(t, ph, alk, 0.0).under(air(co2 + 300.0)).unwrap();
            prop_assert!(stale.ph().unwrap() < opened.ph().unwrap(), "stale air keeps it more acid");
        }

        #[test]
        fn gas_exchange_goes_from_the_bag_to_the_air_and_never_beyond(ph in 5.8..7.0, alk in 20.0..200.0, left in 0.0..1.0) {
            let bag = water(25.0, ph, alk, 10.0);
            let (on_the_way, end) = (bag.towards(air(600.0), left).unwrap(), bag.under(air(600.0)).unwrap());
            prop_assert!(on_the_way.ph().unwrap().get() >= ph - 1e-9);
            prop_assert!(on_the_way.ph().unwrap().get() <= end.ph().unwrap().get() + 1e-9);
        }
    }
}

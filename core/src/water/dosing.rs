//! Doses by generic chemistry: what takes chlorine away, and what binds ammonia. A product's label rate is a setting; these
//! are the bare reactions, without excess.
//!
//! Caution: never mix a binder or a reducing salt with a chlorine product, wear gloves and eye protection, follow the label
//! and the safety data sheet.

use super::error::{Unsound, within};
use crate::quantity::{AlkalinityCaCO3, ChlorineMgL, Litres, TotalAmmoniaN};

/// How thiosulfate takes chlorine up. Which reaction runs depends on pH and excess; the first needs most and is the default.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Reaction {
    /// 2 S2O3²⁻ + Cl2 → S4O6²⁻ + 2 Cl⁻. The dose that Hach note TE213 gives too.
    #[default]
    ToTetrathionate,
    /// S2O3²⁻ + Cl2 + H2O → SO4²⁻ + S + 2 Cl⁻ + 2 H⁺.
    ToSulfur,
    /// S2O3²⁻ + 4 Cl2 + 5 H2O → 2 SO4²⁻ + 8 Cl⁻ + 10 H⁺.
    ToSulfate,
}

/// Salts and acids that take chlorine away. Of those other than thiosulfate the rates are a waterworks guide's field values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dechlorinator {
    /// Sodium thiosulfate pentahydrate, Na2S2O3·5H2O, 248.184 g/mol.
    ThiosulfatePentahydrate(Reaction),
    /// Sodium thiosulfate without water, Na2S2O3, 158.11 g/mol.
    ThiosulfateAnhydrous(Reaction),
    /// Sodium sulfite.
    Sulfite,
    /// Sodium bisulfite.
    Bisulfite,
    /// Sodium metabisulfite.
    Metabisulfite,
    /// Ascorbic acid.
    AscorbicAcid,
}

/// Molar masses, g/mol.
const CHLORINE: f64 = 70.906;
const NITROGEN: f64 = 14.0067;

impl Dechlorinator {
    /// mg for each mg of chlorine.
    pub fn per_mg(self) -> f64 {
        let moles = |reaction| match reaction {
            Reaction::ToTetrathionate => 2.0,
            Reaction::ToSulfur => 1.0,
            Reaction::ToSulfate => 0.25,
        };
        match self {
            Dechlorinator::ThiosulfatePentahydrate(reaction) => moles(reaction) * 248.184 / CHLORINE,
            Dechlorinator::ThiosulfateAnhydrous(reaction) => moles(reaction) * 158.11 / CHLORINE,
            Dechlorinator::Sulfite => 1.96,
            Dechlorinator::Bisulfite => 1.61,
            Dechlorinator::Metabisulfite => 1.47,
            Dechlorinator::AscorbicAcid => 2.5,
        }
    }
}

/// How much of it takes all chlorine out of this water, mg, without excess.
pub fn dechlorinator_mg(with: Dechlorinator, water: Litres, chlorine: ChlorineMgL) -> f64 {
    with.per_mg() * water.get() * chlorine.get()
}

/// Sodium thiosulfate pentahydrate, mg: 7.000 mg for each mg of chlorine.
pub fn thiosulfate_mg(water: Litres, chlorine: ChlorineMgL) -> f64 {
    dechlorinator_mg(Dechlorinator::ThiosulfatePentahydrate(Reaction::ToTetrathionate), water, chlorine)
}

/// mg of nitrogen that stays behind as ammonia for each mg/L of chlorine that was there as NH2Cl: N over Cl2.
pub const CHLORAMINE_AMMONIA: f64 = NITROGEN / CHLORINE;

/// The ammonia that dechlorinated chloramine leaves in the new water.
///
/// # Errors
/// Where no water holds that much.
pub fn ammonia_from_chloramine(chlorine: ChlorineMgL) -> Result<TotalAmmoniaN, Unsound> {
    Ok(TotalAmmoniaN::new(CHLORAMINE_AMMONIA * chlorine.get())?)
}

/// Salts that bind ammonia one to one (adducts of formaldehyde and bisulfite; US patent 4,666,610, 1987, and 4,786,434, 1988).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Binder {
    /// HOCH2SO3Na, 134.09 g/mol.
    Hydroxymethanesulfonate,
    /// HOCH2SO2Na, 118.09 g/mol.
    Hydroxymethanesulfinate,
    /// HOCH2SO2Na·2H2O, 154.12 g/mol.
    HydroxymethanesulfinateDihydrate,
}

impl Binder {
    /// mg that bind one mg of ammonia nitrogen, one to one.
    pub fn per_mg(self) -> f64 {
        let molar = match self {
            Binder::Hydroxymethanesulfonate => 134.09,
            Binder::Hydroxymethanesulfinate => 118.09,
            Binder::HydroxymethanesulfinateDihydrate => 154.12,
        };
        molar / NITROGEN
    }
}

/// How much of it binds this much ammonia, mg. `excess` is 1 for one to one; the patent of 1987 recommends at least 4.
///
/// Binding takes minutes and is not complete. A salicylate kit reads the bound ammonia too, in part, and Nessler's reagent
/// fails, so that the kit's value is no measure of NH3 afterwards. The salts take up some oxygen.
///
/// # Errors
/// Outside of an excess of 1 to 20.
pub fn binder_mg(with: Binder, water: Litres, ammonia: TotalAmmoniaN, excess: f64) -> Result<f64, Unsound> {
    let excess = within("an ammonia binder", ("excess", ""), (1.0, 20.0), excess)?;
    Ok(with.per_mg() * water.get() * ammonia.get() * excess)
}

/// What is left of the alkalinity when this much ammonia was bound: one equivalent is lost for each mole, for
/// NH4⁺ gives off H⁺ as NH3 is taken away. `None` where more would be lost than there is.
pub fn alkalinity_after_binding(alkalinity: AlkalinityCaCO3, bound: TotalAmmoniaN) -> Option<AlkalinityCaCO3> {
    let lost = bound.get() / NITROGEN * crate::quantity::CACO3_MG_PER_MEQ;
    AlkalinityCaCO3::new(alkalinity.get() - lost).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doses_follow_the_stoichiometry() {
        use Dechlorinator::{ThiosulfateAnhydrous, ThiosulfatePentahydrate};
        use Reaction::{ToSulfate, ToSulfur, ToTetrathionate};
        let rows = [
            (ThiosulfatePentahydrate(ToTetrathionate), 7.000),
            (ThiosulfateAnhydrous(ToTetrathionate), 4.460),
            (ThiosulfatePentahydrate(ToSulfur), 3.500),
            (ThiosulfateAnhydrous(ToSulfur), 2.230),
            (ThiosulfatePentahydrate(ToSulfate), 0.875),
            (ThiosulfateAnhydrous(ToSulfate), 0.557),
        ];
        for (with, per_mg) in rows {
            assert!((with.per_mg() - per_mg).abs() < 0.001, "{with:?}");
        }
        let tap = thiosulfate_mg(Litres::new(200.0).unwrap(), ChlorineMgL::new(1.5).unwrap());
        assert!((tap - 2100.0).abs() < 1.0, "{tap} mg for 200 L of 1.5 mg/L");
    }

    #[test]
    fn chloramine_leaves_a_fifth_of_its_chlorine_as_ammonia() {
        let left = ammonia_from_chloramine(ChlorineMgL::new(3.0).unwrap()).unwrap();
        assert!((left.get() - 0.5926).abs() < 1e-3, "{left:?}");
    }

    #[test]
    fn a_binder_is_weighed_by_its_salt_and_costs_alkalinity() {
        let four = |with| binder_mg(with, Litres::new(1.0).unwrap(), TotalAmmoniaN::new(1.0).unwrap(), 4.0).unwrap();
        assert!((four(Binder::Hydroxymethanesulfonate) - 38.3).abs() < 0.1);
        assert!((four(Binder::Hydroxymethanesulfinate) - 33.7).abs() < 0.1);
        assert!((four(Binder::HydroxymethanesulfinateDihydrate) - 44.0).abs() < 0.1);
        let left = alkalinity_after_binding(AlkalinityCaCO3::new(50.0).unwrap(), TotalAmmoniaN::new(10.0).unwrap());
        assert!((left.unwrap().get() - 14.27).abs() < 0.01);
        assert!(
            alkalinity_after_binding(AlkalinityCaCO3::new(20.0).unwrap(), TotalAmmoniaN::new(10.0).unwrap()).is_none()
        );
    }
}

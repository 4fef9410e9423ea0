//! What to mind with a species, as data. The wording is in [`crate::say`].

/// Something to mind with a species.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Caution {
    /// Venom that can kill a person (stonefish): emergency number at once.
    LifeThreateningVenom,
    /// Venomous spines: a solid container, not a net. Dead fish still sting.
    VenomousSpines,
    /// A venomous tail spine, or stinging cells.
    Sting,
    /// Bites people, bags and neighbours.
    Bites,
    /// Blades at the base of the tail.
    Scalpel,
    /// Weak electric organs: harmless to hands, upset by stray current.
    WeakElectric,
    /// Flesh or skin poisonous: not for eating, hands washed.
    ToxicFlesh,
    /// Poisons its own water when crowded or frightened: own bag, own tray water.
    FoulsOwnWater,
    /// Spines that lock or catch in nets: move in a cup, do not cut the spine.
    SpinesCatchNets,
    /// Spines or scutes that tear bags.
    TearsBags,
    /// Never lifted into air.
    KeepUnderWater,
    /// Jumps: cover trays.
    Jumper,
    /// Leaves through any gap.
    Escapes,
    /// Fights: one to a bag.
    PackSingly,
    /// Bites fins in crowded trays.
    FinNipper,
    /// Lies on its side or keeps still as normal behaviour; not by itself weak.
    LiesOnSide,
    /// Gulps air as normal behaviour; not by itself gasping.
    GulpsAir,
    /// Burrows or hides: counts come short.
    Hides,
    /// Cool water: not to be warmed to the tropical stock's temperature.
    CoolWater,
    /// Needs much oxygen.
    NeedsOxygen,
    /// Takes ammonia badly.
    AmmoniaSensitive,
    /// Takes many medicines or salt badly.
    MedicineSensitive,
    /// Copper kills it.
    CopperSensitive,
    /// Changes of salinity, or salt at all, harm it.
    SalinitySensitive,
    /// Checked for diseases that are notifiable in several countries.
    NotifiableDisease,
    /// Some country or state forbids or limits its trade: check before import.
    LocalLaw,
}

/// How far a statement was checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mark {
    /// Read on a public page.
    Verified,
    /// From memory, to be checked before it is relied on.
    FromMemory,
}

/// A caution and how far it was checked for this species.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Cautioned {
    /// The caution.
    pub caution: Caution,
    /// How far it was checked.
    pub mark: Mark,
}

impl Caution {
    /// Every caution with the word that the table uses for it.
    pub const WORDS: [(Caution, &'static str); 26] = [
        (Caution::LifeThreateningVenom, "life_threatening_venom"),
        (Caution::VenomousSpines, "venomous_spines"),
        (Caution::Sting, "sting"),
        (Caution::Bites, "bites"),
        (Caution::Scalpel, "scalpel"),
        (Caution::WeakElectric, "weak_electric"),
        (Caution::ToxicFlesh, "toxic_flesh"),
        (Caution::FoulsOwnWater, "fouls_own_water"),
        (Caution::SpinesCatchNets, "spines_catch_nets"),
        (Caution::TearsBags, "tears_bags"),
        (Caution::KeepUnderWater, "keep_under_water"),
        (Caution::Jumper, "jumper"),
        (Caution::Escapes, "escapes"),
        (Caution::PackSingly, "pack_singly"),
        (Caution::FinNipper, "fin_nipper"),
        (Caution::LiesOnSide, "lies_on_side"),
        (Caution::GulpsAir, "gulps_air"),
        (Caution::Hides, "hides"),
        (Caution::CoolWater, "cool_water"),
        (Caution::NeedsOxygen, "needs_oxygen"),
        (Caution::AmmoniaSensitive, "ammonia_sensitive"),
        (Caution::MedicineSensitive, "medicine_sensitive"),
        (Caution::CopperSensitive, "copper_sensitive"),
        (Caution::SalinitySensitive, "salinity_sensitive"),
        (Caution::NotifiableDisease, "notifiable_disease"),
        (Caution::LocalLaw, "local_law"),
    ];

    /// The caution that the table writes with this word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(_, known)| *known == word).map(|(caution, _)| *caution)
    }

    /// Whether it is about the safety of people rather than of fish.
    pub fn harms_people(self) -> bool {
        use Caution::*;
        matches!(self, LifeThreateningVenom | VenomousSpines | Sting | Bites | Scalpel | ToxicFlesh)
    }
}

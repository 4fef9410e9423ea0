//! Fish, invertebrate or plant, from the words of a list, where the table knows the species and where it does not.

use std::collections::{BTreeSet, HashMap};
use std::sync::LazyLock;

use super::letters::{fold, words};
use super::{Kind, Match, resolve};

/// Words that name invertebrates, in the languages of the lists: from memory, without accents.
const INVERTEBRATES: &str = "shrimp prawn snail crab crayfish lobster clam mussel oyster scallop anemone coral starfish urchin \
    seastar nudibranch octopus cuttlefish jellyfish sponge polyp zoanthid zoa gorgonian limpet slug hermit conch whelk cucumber \
    invert invertebrate invertebrata mollusc crustacean frag \
    camaron camarones gamba caracol caracoles cangrejo langosta almeja erizo invertebrado \
    camarao camaroes caramujo caranguejo siri lagosta ourico \
    udang siput keong kepiting kerang anemon karang kelomang teripang kima \
    kreveta krevety krevetka krevetky snek sneci plz rak raci krab krabi mlz koral koraly sasanka sasanky hvezdice jezovka bezobratli \
    garnele garnelen schnecke schnecken krebs krebse krabbe krabben muschel muscheln koralle korallen anemonen seestern seeigel \
    einsiedlerkrebs wirbellose";

/// Words that name plants, in the same languages.
const PLANTS: &str = "plant moss fern crypt hornwort duckweed frogbit hairgrass macroalgae chaeto chaetomorpha caulerpa mangrove marimo \
    vallis vallisneria hygro \
    planta helecho musgo samambaia tanaman lumut pakis rostlina rostliny mech kapradina pflanze pflanzen moos farn";

/// Genera that are traded and that the table may lack; a scientific name or a list's short name begins with them.
const INVERTEBRATE_GENERA: &str = "neocaridina caridina atyopsis atya macrobrachium lysmata stenopus rhynchocinetes thor alpheus procambarus \
    cherax cambarellus neritina neritodryas clithon vittina pomacea planorbarius planorbella anentome clea tylomelania melanoides turbo \
    trochus tectus nassarius cerithium tridacna hippopus corbicula entacmaea heteractis stichodactyla condylactis macrodactyla \
    euphyllia fimbriaphyllia acropora montipora pocillopora stylophora zoanthus palythoa sarcophyton sinularia xenia discosoma \
    rhodactis ricordea goniopora catalaphyllia trachyphyllia fungia lobophyllia linckia fromia archaster ophiocoma diadema mespilia \
    holothuria clibanarius calcinus paguristes geosesarma cardisoma sesarma mithraculus sabellastarte spirobranchus";
const PLANT_GENERA: &str = "anubias cryptocoryne echinodorus bucephalandra vallisneria hygrophila ludwigia rotala limnophila cabomba bacopa \
    elodea egeria ceratophyllum myriophyllum microsorum leptochilus bolbitis riccia ricciocarpus salvinia pistia lemna limnobium azolla \
    eichhornia pontederia hydrocotyle lobelia alternanthera pogostemon staurogyne eleocharis lilaeopsis glossostigma hemianthus \
    micranthemum marsilea sagittaria nymphaea nymphoides aponogeton crinum blyxa heteranthera fissidens vesicularia taxiphyllum \
    lagenandra proserpinaca ammannia helanthium";

/// Words of fish: beside one, a word such as "coral" or "anemone" is only part of a fish's name ("coral goby", "anemone clownfish").
const FISH: &str = "fish tetra barb goby gobi blenny platy guppy molly cichlid wrasse tang angel loach pleco cory gourami betta danio \
    rasbora puffer eel ray shark damsel chromis butterfly trigger anthias basslet grouper killi koi swordtail discus gar bichir \
    dragonet beauty clown clownfish hawk perch bass minnow idol foxface rabbit eater pez pece peixe ikan ryba rybka rybicka \
    salmler wels barbe schmerle";

/// Animals whose names end like those of fish.
const NO_FISH: [&str; 4] = ["crayfish", "starfish", "jellyfish", "cuttlefish"];

/// German runs words together: "Zwerggarnele", "Javamoos", "Wasserpflanzen".
const INVERTEBRATE_ENDINGS: [&str; 12] = [
    "garnele",
    "garnelen",
    "schnecke",
    "schnecken",
    "krebs",
    "krebse",
    "krabbe",
    "krabben",
    "muschel",
    "muscheln",
    "koralle",
    "korallen",
];
const PLANT_ENDINGS: [&str; 4] = ["pflanze", "pflanzen", "moos", "farn"];

/// What a line of a list is: by its species where it is known, else by what its heading says of it (`under`), else by the
/// words of its name; `None` where they do not tell.
pub fn kind_of(common: &str, scientific: Option<&str>, under: Option<Kind>) -> Option<Kind> {
    let known = match resolve(common, scientific) {
        Match::One(found) => Some(found.kind),
        Match::Several(found) => found.iter().all(|one| one.kind == found[0].kind).then(|| found[0].kind),
        Match::None => None,
    };
    known.or_else(|| scientific.and_then(by_genus)).or(under).or_else(|| by_words(common))
}

/// What a word or a heading stands for by itself: "plants", "Inverts", "Wirbellose", "ikan".
pub fn kind_named(text: &str) -> Option<Kind> {
    by_words(text)
}

/// Words by which a crew calls all of a kind, and the narrower groups among them: what a line answers to beside its name.
pub fn group_words(common: &str, kind: Kind) -> Vec<String> {
    let mut all = match kind {
        Kind::Fish => return Vec::new(),
        Kind::Invertebrate => vec!["invertebrate".to_owned(), "invert".to_owned()],
        Kind::Plant => vec!["plant".to_owned()],
    };
    let said: BTreeSet<String> = each_number(common).into_iter().collect();
    all.extend(GROUPS.iter().filter(|(word, _)| has(&said, word)).map(|(_, english)| (*english).to_owned()));
    all
}

/// Groups by the words of the lists and of the genera, with the word that a crew says.
#[rustfmt::skip]
const GROUPS: [(&str, &str); 5] = [
    ("shrimp prawn camaron camarones gamba camarao camaroes udang kreveta krevety krevetka krevetky garnele garnelen neocaridina caridina", "shrimp"),
    ("snail caracol caracoles caramujo siput keong snek sneci plz schnecke schnecken neritina clithon vittina pomacea turbo", "snail"),
    ("crab cangrejo caranguejo siri kepiting krab krabi krabbe krabben hermit", "crab"),
    ("coral karang koral koraly koralle korallen", "coral"),
    ("crypt cryptocoryne", "crypt"),
];

fn has(said: &BTreeSet<String>, list: &str) -> bool {
    list.split(' ').any(|word| said.contains(word))
}

/// Each word, and each genus, with its kind; words of fish among them.
static KINDS: LazyLock<HashMap<&'static str, Kind>> = LazyLock::new(|| {
    let lists = [
        (INVERTEBRATES, Kind::Invertebrate),
        (INVERTEBRATE_GENERA, Kind::Invertebrate),
        (PLANTS, Kind::Plant),
        (PLANT_GENERA, Kind::Plant),
        (FISH, Kind::Fish),
    ];
    lists.into_iter().flat_map(|(list, kind)| list.split_whitespace().map(move |word| (word, kind))).collect()
});

fn by_genus(scientific: &str) -> Option<Kind> {
    let folded = fold(scientific);
    let genus = folded.split(|c: char| !c.is_ascii_alphabetic()).find(|word| !word.is_empty())?;
    KINDS.get(genus).copied().filter(|kind| *kind != Kind::Fish)
}

/// The words as they stand and in the singular: endings of the other languages are not those of English.
fn each_number(text: &str) -> Vec<String> {
    let as_written = fold(text);
    let as_written = as_written.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    as_written.flat_map(|word| words(word).into_iter().chain([word.to_owned()])).collect()
}

fn by_words(text: &str) -> Option<Kind> {
    let kinds: Vec<Kind> = each_number(text).iter().filter_map(|word| kind_of_word(word)).collect();
    kinds.iter().find(|kind| **kind == Kind::Fish).or(kinds.first()).copied()
}

fn kind_of_word(word: &str) -> Option<Kind> {
    let ends = |endings: &[&str]| endings.iter().any(|ending| word.ends_with(ending));
    let by_ending = || {
        if ends(&["fish"]) && !NO_FISH.contains(&word) || ends(&["fisch", "barsch"]) {
            Some(Kind::Fish)
        } else if ends(&INVERTEBRATE_ENDINGS) {
            Some(Kind::Invertebrate)
        } else {
            ends(&PLANT_ENDINGS).then_some(Kind::Plant)
        }
    };
    KINDS.get(word).copied().or_else(by_ending)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kind_is_understood_from_the_words_of_a_list_in_all_its_languages() {
        for (name, kind) in [
            ("Red cherry shrimp 2cm", Kind::Invertebrate),
            ("SHRIMP bloody mary A", Kind::Invertebrate),
            ("Assassin snails", Kind::Invertebrate),
            ("Camarón arlequín", Kind::Invertebrate),
            ("Camarão fantasma", Kind::Invertebrate),
            ("Udang hias", Kind::Invertebrate),
            ("Keong tanduk", Kind::Invertebrate),
            ("Kreveta červená", Kind::Invertebrate),
            ("Šnek rohatý", Kind::Invertebrate),
            ("Zwerggarnelen, rot", Kind::Invertebrate),
            ("Posthornschnecke", Kind::Invertebrate),
            ("Blue starfish", Kind::Invertebrate),
            ("Marble crayfish", Kind::Invertebrate),
            ("Toadstool coral frag", Kind::Invertebrate),
            ("Crypt. wendtii green", Kind::Plant),
            ("Cryptocoryne parva pot", Kind::Plant),
            ("Bucephalandra mix", Kind::Plant),
            ("Assorted plants", Kind::Plant),
            ("Javamoos", Kind::Plant),
            ("Tanaman air", Kind::Plant),
            ("Rostliny mix", Kind::Plant),
            ("Christmas moss", Kind::Plant),
            ("Coral platy", Kind::Fish),
            ("Anemone clownfish", Kind::Fish),
            ("Yellow shrimp goby", Kind::Fish),
            ("Coral beauty M", Kind::Fish),
            ("Schneckenbuntbarsch", Kind::Fish),
            ("Neon tetra", Kind::Fish),
        ] {
            assert_eq!(kind_of(name, None, None), Some(kind), "{name}");
        }
        assert_eq!(kind_of("Xanadu blue", None, None), None, "no word tells");
    }

    #[test]
    fn a_scientific_name_tells_more_than_a_trade_name() {
        assert_eq!(kind_of("Tiger", Some("Caridina mariae"), None), Some(Kind::Invertebrate));
        assert_eq!(kind_of("Assassin", Some("Anentome helena"), None), Some(Kind::Invertebrate));
        assert_eq!(kind_of("Red tiger", Some("Nymphaea lotus"), None), Some(Kind::Plant));
        assert_eq!(kind_of("Coral platy", Some("Xiphophorus maculatus"), None), Some(Kind::Fish));
    }

    #[test]
    fn a_heading_may_name_a_whole_kind() {
        for (heading, kind) in [
            ("PLANTS", Some(Kind::Plant)),
            ("INVERTEBRATES", Some(Kind::Invertebrate)),
            ("Wirbellose", Some(Kind::Invertebrate)),
            ("Peces", Some(Kind::Fish)),
            ("TETRAS", Some(Kind::Fish)),
            ("Remarks", None),
        ] {
            assert_eq!(kind_named(heading), kind, "{heading}");
        }
    }

    #[test]
    fn a_line_answers_to_the_words_of_its_group() {
        assert_eq!(group_words("kreveta červená", Kind::Invertebrate), ["invertebrate", "invert", "shrimp"]);
        assert_eq!(group_words("cryptocoryne wendtii", Kind::Plant), ["plant", "crypt"]);
        assert_eq!(group_words("neon tetra", Kind::Fish), [""; 0]);
    }
}

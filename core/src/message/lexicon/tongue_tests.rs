use std::collections::{BTreeMap, BTreeSet};

use super::super::entries;
use super::super::spoken::tongue_of;
use super::{TONGUES, Tongue, all, answer, words};
use crate::message::names::Names;
use crate::message::token::tokens;
use crate::message::{Gallon, Vocabulary};

fn nothing_known() -> Vocabulary {
    Vocabulary {
        tanks: None,
        trays: None,
        boxes: None,
        lots: None,
        species: None,
        species_aliases: BTreeMap::new(),
        buyers: None,
        suppliers: Vec::new(),
        crew: Vec::new(),
        tz: chrono_tz::UTC,
        gallon: Gallon::Us,
    }
}

fn said(text: &str) -> String {
    let vocabulary = nothing_known();
    let (words, _) = words(&Names::new(&vocabulary), &vocabulary, text, "");
    words.iter().map(|token| token.text.as_str()).collect::<Vec<_>>().join(" ")
}

fn tongue(text: &str) -> Option<&'static str> {
    let vocabulary = nothing_known();
    let plain = tokens(text, |run| super::english().is_mixed(run));
    tongue_of(&Names::new(&vocabulary), &vocabulary, &plain, "").map(|(tongue, _)| tongue.name)
}

/// Classes whose words are English alone: the letters of units are the same everywhere, and "half past six" is said otherwise.
const ENGLISH_ONLY: [&str; 3] = ["shortunit", "past", "pastto"];

#[test]
fn a_message_becomes_english_words_for_the_bytes_that_were_said() {
    assert_eq!(said("pasa la 7 a A12"), "moved 7 to a 12");
    assert_eq!(said("7.2 38 vivos 2 doa"), "7.2 38 alive 2 doa");
    assert_eq!(said("passei a 7 pro A12"), "moved 7 to a 12");
}

#[test]
fn words_that_english_has_too_stay_english_in_an_english_message() {
    for text in [
        "no losses",
        "come back at once",
        "A3 no, as i said",
        "two pairs, son",
        "me too",
        "sal 35",
        "3-1 at half time",
        "as of now",
    ] {
        assert_eq!(tongue(text), None, "{text}");
    }
    assert_eq!(tongue("no comen"), Some("es"));
    assert_eq!(tongue("não comem"), Some("pt"));
}

#[test]
fn what_two_tongues_could_say_is_said_in_the_one_spoken_last() {
    let vocabulary = nothing_known();
    let heard = |text: &str, spoken: &str| words(&Names::new(&vocabulary), &vocabulary, text, spoken).1;
    assert_eq!(heard("abri a 8", "pt"), "pt");
    assert_eq!(heard("abri a 8", "es"), "es");
    assert_eq!(heard("A3 2 doa", "pt"), "pt");
    assert_eq!(heard("A3 is all right now", "pt"), "");
}

#[test]
fn more_stands_behind_its_number_in_english() {
    assert_eq!(said("más 2 muertos"), "2 more dead");
    assert_eq!(said("2 mortos mais 1 fraco"), "2 dead and 1 weak");
}

#[test]
fn an_hour_and_its_half_are_a_clock_time() {
    assert_eq!(said("a las seis y media"), "at 6:30");
    assert_eq!(said("às seis e meia"), "at 6:30");
    assert_eq!(said("a las 7 menos cuarto"), "at 6:45");
    assert_eq!(said("2 y media horas en"), "2 and half hour in");
}

#[test]
fn an_answer_in_any_tongue_is_yes_or_no() {
    assert_eq!(answer("sí"), "yes");
    assert_eq!(answer("Não!"), "no");
    assert_eq!(answer("tray 3"), "tray 3");
}

#[test]
fn english_messages_are_left_alone() {
    let corpora =
        [include_str!("../../../../tests/messages/contract.txt"), include_str!("../../../../tests/messages/own.txt")];
    let taken: Vec<&str> = corpora
        .iter()
        .flat_map(|corpus| corpus.lines())
        .filter_map(|line| line.split_once("> ").filter(|(head, _)| !head.contains('=')).map(|(_, text)| text))
        .filter(|text| tongue(text).is_some())
        .collect();
    assert!(taken.is_empty(), "{taken:#?}");
}

/// Every meaning that English has, the others have too.
#[test]
fn every_meaning_is_said_in_every_tongue() {
    let english: BTreeSet<(&str, &str)> = entries(super::super::ENGLISH)
        .map(|(meaning, _)| (meaning.class, meaning.value))
        .filter(|(class, _)| !ENGLISH_ONLY.contains(class))
        .collect();
    for (name, data) in TONGUES {
        let own: BTreeSet<(&str, &str)> = entries(data)
            .map(|(meaning, _)| {
                (meaning.class, meaning.value.split_once(" = ").map_or(meaning.value, |(value, _)| value))
            })
            .collect();
        let missing: Vec<_> = english.difference(&own).collect();
        assert!(missing.is_empty(), "{name} lacks {missing:?}");
    }
}

#[test]
fn every_phrase_of_a_tongue_becomes_words_that_english_knows() {
    let lost: Vec<String> = all()
        .iter()
        .flat_map(|tongue: &Tongue| tongue.phrases.values().flatten().map(move |phrase| (tongue.name, phrase)))
        .filter(|(_, phrase)| phrase.meaning.class != "minutes")
        .filter(|(_, phrase)| {
            let words = tokens(phrase.english, |run| super::english().is_mixed(run));
            words.is_empty() || !words.iter().all(|word| super::english().knows(&word.text) || word.text == "1")
        })
        .map(|(name, phrase)| format!("{name} {:?}: {:?}", phrase.words, phrase.english))
        .collect();
    assert!(lost.is_empty(), "{lost:#?}");
}

//! The rooms that the command line calls, as they are: the store on disk, the desk, the readers.

use std::collections::BTreeMap;
use std::io::{BufRead, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::Context;
use chrono::{DateTime, Utc};
use holdfast_core::desk::{Actor, Input, What};
use holdfast_core::journal::{Delivery, Outgoing, Person};
use holdfast_core::message::Place;
use holdfast_core::people::Role;
use holdfast_core::say::terminal as say;
use holdfast_core::settings::Settings;
use tempfile::TempDir;

use crate::channel::{Desk, Lists};
use crate::cli::Rooms;
use crate::clock::{Clock, ManualClock, RealClock};
use crate::house::House;
use crate::rehearse::Enrolment;
use crate::store::{self, Disk, RealDisk, Store};
use crate::{packing, read, reckon, unread};

/// The program's own rooms.
#[derive(Debug, Clone, Copy, Default)]
pub struct Built;

/// A house by a clock.
pub struct Served {
    house: House,
    clock: Box<dyn Clock>,
    /// The throw-away folder of a rehearsal, gone when the house is.
    _folder: Option<TempDir>,
}

impl Desk for Served {
    fn now(&self) -> DateTime<Utc> {
        self.clock.now()
    }

    fn take(&mut self, inputs: Vec<Input>) -> anyhow::Result<Vec<Outgoing>> {
        Ok(self.house.take(inputs, self.clock.now())?)
    }

    fn next_wake(&self) -> Option<DateTime<Utc>> {
        self.house.next_wake()
    }

    fn places_of(&self, sent: &str) -> Vec<Place> {
        let known = self.house.store().sent(sent).unwrap_or_else(|error| {
            // A reply that is read without its places is asked about; the message itself is not lost.
            tracing::error!(%error, "what a line spoke of cannot be looked up");
            None
        });
        known.map(|sent| sent.about).unwrap_or_default()
    }

    fn frame_of(&self, sent: &str) -> Option<u64> {
        // Where it cannot be looked up, `places_of` has told the operator.
        let known = self.house.store().sent(sent).ok().flatten()?;
        let first = known.outgoing.first()?.frame;
        known.outgoing.iter().all(|id| id.frame == first).then_some(first)
    }

    fn people(&self) -> &BTreeMap<String, Person> {
        &self.house.state().people
    }

    fn undelivered(&mut self) -> Vec<Outgoing> {
        self.house.store().undelivered().into_iter().map(|waiting| waiting.outgoing).collect()
    }
}

impl Rooms for Built {
    type House = Served;

    fn open(&self, folder: &Path, settings: Settings) -> anyhow::Result<Served> {
        let (store, state, report) = Store::open(folder)?;
        tracing::info!(?report, "the store is open");
        let house = House::new(store, state, settings);
        Ok(Served { house, clock: Box::new(RealClock), _folder: None })
    }

    fn rehearse(&self, settings: Settings, clock: ManualClock, people: &[Enrolment]) -> anyhow::Result<Served> {
        let folder = tempfile::tempdir().context("no folder can be made for the rehearsal")?;
        let (store, state, _) = Store::open(folder.path())?;
        let house = House::new(store, state, settings);
        let now = clock.now();
        let mut served = Served { house, clock: Box::new(clock), _folder: Some(folder) };
        let input = |key: String, chat: &str, by: &str, what: What| Input {
            key,
            said_at: now,
            heard_at: now,
            actor: Some(Actor { person: by.to_string(), chat: chat.to_string(), topic: None }),
            what,
        };
        for person in people {
            let what = What::Enrol { name: person.name.clone(), role: person.role };
            served.take(vec![input(format!("enrol {}", person.name), &person.chat, &person.name, what)])?;
        }
        // Whom a buyer speaks for is said by the lead, as it is in a real house.
        for (person, firm) in people.iter().filter_map(|person| Some((person, person.firm.as_ref()?))) {
            let lead = people.iter().find(|other| other.role == Role::Lead);
            let lead = lead.with_context(|| format!("{} for {firm}: a lead must be there to say so", person.name))?;
            let text = format!("enrol {} for {firm}", person.name);
            let what = What::Message { text, re: Vec::new() };
            let answers = served.take(vec![input(format!("firm of {}", person.name), &lead.chat, &lead.name, what)])?;
            // The night begins after it: what was answered is not said in it.
            let before = |answer: &Outgoing| Input {
                key: format!("before the night {}.{}", answer.id.frame, answer.id.nth),
                said_at: now,
                heard_at: now,
                actor: None,
                what: What::Delivered {
                    outgoing: answer.id,
                    outcome: Delivery::Parked("before the night".to_string()),
                },
            };
            served.take(answers.iter().map(before).collect())?;
            let known = served.people().get(&person.name).and_then(|person| person.buyer.as_ref());
            anyhow::ensure!(
                known == Some(firm),
                "{} cannot be enrolled for {firm}: the name must be one word",
                person.name
            );
        }
        Ok(served)
    }

    fn lists(&self) -> Lists {
        Lists::HOUSE
    }

    fn read(&self, input: &mut dyn BufRead, output: &mut dyn Write) -> anyhow::Result<()> {
        Ok(read::run(input, output)?)
    }

    fn reckon(&self, input: &mut dyn BufRead, output: &mut dyn Write) -> anyhow::Result<()> {
        Ok(reckon::run(input, output)?)
    }

    fn quantities(&self, output: &mut dyn Write) -> anyhow::Result<()> {
        Ok(reckon::list(output)?)
    }

    fn unread(&self, folder: &Path, settings: &Settings, output: &mut dyn Write) -> anyhow::Result<()> {
        unread::list(&RealDisk, existing(folder)?, settings.zone, output)
    }

    fn packing(&self, files: &[PathBuf], mut output: &mut dyn Write) -> anyhow::Result<bool> {
        Ok(packing::run(files, &mut output)? == 0)
    }

    fn check(&self, folder: &Path, output: &mut dyn Write) -> anyhow::Result<bool> {
        let findings = store::check(&RealDisk, existing(folder)?)?;
        let problems: Vec<String> = findings.problems.iter().map(ToString::to_string).collect();
        writeln!(output, "{}", say::checked(findings.frames, &problems))?;
        Ok(findings.is_sound())
    }

    fn export(&self, folder: &Path, output: &mut dyn Write) -> anyhow::Result<()> {
        store::export(&RealDisk, existing(folder)?, output)?;
        Ok(())
    }

    fn import(&self, folder: &Path, input: &mut dyn BufRead, output: &mut dyn Write) -> anyhow::Result<()> {
        let disk: Arc<dyn Disk> = Arc::new(RealDisk);
        let imported = store::import(&disk, folder, input)?;
        let parked: Vec<(&str, &str)> =
            imported.parked.iter().map(|outgoing| (outgoing.chat.as_str(), outgoing.body.as_str())).collect();
        writeln!(output, "{}", say::imported(imported.frames, &parked))?;
        Ok(())
    }
}

/// A folder that is there: verifying or exporting must not make one.
fn existing(folder: &Path) -> anyhow::Result<&Path> {
    anyhow::ensure!(folder.is_dir(), "there is no house in {}", folder.display());
    Ok(folder)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rehearsal_leaves_nothing_behind() {
        let people = [Enrolment { name: "dee".to_string(), role: Role::Lead, firm: None, chat: "crew".to_string() }];
        let clock = ManualClock::at(DateTime::UNIX_EPOCH);
        let house = Built.rehearse(Settings::default(), clock.clone(), &people).expect("it opens");
        let folder = house._folder.as_ref().expect("a folder of its own").path().to_path_buf();
        assert!(folder.is_dir());
        clock.set(DateTime::UNIX_EPOCH + chrono::Duration::hours(1));
        assert_eq!(house.now(), clock.now(), "the script moves the clock of the house");
        drop(house);
        assert!(!folder.exists());
    }

    #[test]
    fn a_rehearsal_knows_whom_its_buyers_speak_for() {
        let person = |name: &str, role, firm: Option<&str>, chat: &str| Enrolment {
            name: name.to_string(),
            role,
            firm: firm.map(String::from),
            chat: chat.to_string(),
        };
        let open = |people: &[Enrolment]| {
            Built
                .rehearse(Settings::default(), ManualClock::at(DateTime::UNIX_EPOCH), people)
                .map(|house| house.people().clone())
        };
        let (lead, sam) =
            (person("dee", Role::Lead, None, "crew"), person("sam", Role::Buyer, Some("Reef & River"), "shop"));
        let people = open(&[lead.clone(), sam.clone()]).expect("it opens");
        let expected =
            Person { role: Role::Buyer, buyer: Some("Reef & River".to_string()), chat: Some("shop".to_string()) };
        assert_eq!(people.get("sam"), Some(&expected));
        let error = open(&[sam]).expect_err("nobody can enrol a buyer").to_string();
        assert_eq!(error, "sam for Reef & River: a lead must be there to say so");
        let error =
            open(&[lead, person("sam b", Role::Buyer, Some("Reef"), "shop")]).expect_err("two words").to_string();
        assert_eq!(error, "sam b cannot be enrolled for Reef: the name must be one word");
    }

    #[test]
    fn an_export_comes_in_again_byte_for_byte_and_a_missing_house_is_not_made() {
        let folder = tempfile::tempdir().expect("a folder");
        let (first, second, none) = (folder.path().join("a"), folder.path().join("b"), folder.path().join("c"));
        drop(Built.open(&first, Settings::default()).expect("it opens"));
        let export = |of: &Path| {
            let mut lines = Vec::new();
            Built.export(of, &mut lines).map(|()| lines)
        };
        let lines = export(&first).expect("it is exported");
        let mut said = Vec::new();
        Built.import(&second, &mut lines.as_slice(), &mut said).expect("it comes in");
        assert_eq!(export(&second).expect("it is exported"), lines);
        assert!(Built.import(&second, &mut lines.as_slice(), &mut said).is_err(), "there is a house already");
        assert!(export(&none).is_err() && Built.check(&none, &mut said).is_err());
        assert!(!none.exists());
    }
}

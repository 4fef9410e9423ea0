//! The inputs of a question: each is taken by its name and becomes a quantity of its kind, or an error that names it.

use std::fmt::Display;

use serde_json::{Map, Value};

/// What a question gives, all of it known to the quantity.
pub struct Inputs<'a> {
    given: &'a Map<String, Value>,
    /// "waters[1]." where these are the inputs of one of several.
    within: String,
}

impl<'a> Inputs<'a> {
    /// Takes what was given.
    ///
    /// # Errors
    /// Where an input is missing or not one of these.
    pub fn new(names: &[&str], given: &'a Map<String, Value>) -> Result<Self, String> {
        Self::named(names, given, String::new())
    }

    fn named(names: &[&str], given: &'a Map<String, Value>, within: String) -> Result<Self, String> {
        let plain = |name: &'_ str| name.trim_end_matches('?').to_owned();
        if let Some(stranger) = given.keys().find(|key| names.iter().all(|name| plain(name) != **key)) {
            return Err(format!("{within}{stranger}: is no input of this quantity, which takes {}", names.join(", ")));
        }
        let here = |name: &str| given.get(name).is_some_and(|value| !value.is_null());
        if let Some(missing) = names.iter().find(|name| !name.ends_with('?') && !here(name)) {
            return Err(format!("{within}{missing}: is missing"));
        }
        Ok(Inputs { given, within })
    }

    /// A plain number.
    ///
    /// # Errors
    /// Where it is missing or no number.
    pub fn number(&self, name: &str) -> Result<f64, String> {
        self.optional(name)?.ok_or_else(|| format!("{}{name}: is missing", self.within))
    }

    /// A plain number that may be missing.
    ///
    /// # Errors
    /// Where it is no number.
    pub fn optional(&self, name: &str) -> Result<Option<f64>, String> {
        match self.given.get(name) {
            None | Some(Value::Null) => Ok(None),
            Some(value) => match value.as_f64() {
                Some(number) => Ok(Some(number)),
                None => Err(format!("{}{name}: {value} is no number", self.within)),
            },
        }
    }

    /// A number that becomes a quantity.
    ///
    /// # Errors
    /// Where it is missing, no number, or no such quantity.
    pub fn of<T, E: Display>(&self, name: &str, make: impl Fn(f64) -> Result<T, E>) -> Result<T, String> {
        make(self.number(name)?).map_err(|error| format!("{}{name}: {error}", self.within))
    }

    /// A number that becomes a quantity and may be missing.
    ///
    /// # Errors
    /// As [`Inputs::of`].
    pub fn maybe<T, E: Display>(&self, name: &str, make: impl Fn(f64) -> Result<T, E>) -> Result<Option<T>, String> {
        let made = self.optional(name)?.map(make).transpose();
        made.map_err(|error| format!("{}{name}: {error}", self.within))
    }

    /// A whole number, zero or more.
    ///
    /// # Errors
    /// Where it is missing or not one.
    pub fn whole(&self, name: &str) -> Result<u32, String> {
        let number = self.number(name)?;
        let whole = number.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&number);
        // The check before it makes the conversion exact.
        if whole { Ok(number as u32) } else { Err(format!("{}{name}: {number} is no whole number", self.within)) }
    }

    /// Words.
    ///
    /// # Errors
    /// Where they are missing or none.
    pub fn text(&self, name: &str) -> Result<&'a str, String> {
        let value = self.given.get(name).ok_or_else(|| format!("{}{name}: is missing", self.within))?;
        value.as_str().ok_or_else(|| format!("{}{name}: {value} is no text", self.within))
    }

    /// Each of several.
    ///
    /// # Errors
    /// Where it is no list, or one of them is wrong.
    pub fn each<T>(
        &self,
        name: &str,
        names: &[&str],
        make: impl Fn(&Inputs) -> Result<T, String>,
    ) -> Result<Vec<T>, String> {
        let value = self.given.get(name).ok_or_else(|| format!("{}{name}: is missing", self.within))?;
        let list = value.as_array().filter(|list| !list.is_empty());
        let list = list.ok_or_else(|| format!("{}{name}: must be a list of at least one", self.within))?;
        let made = list.iter().enumerate().map(|(nth, one)| {
            let within = format!("{}{name}[{nth}]", self.within);
            let given = one.as_object().ok_or_else(|| format!("{within}: must be an object"))?;
            make(&Inputs::named(names, given, format!("{within}."))?)
        });
        made.collect()
    }
}

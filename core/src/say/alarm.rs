//! Alarms: what is wrong with its number and basis, the limit with its source, and the next step. One line each.

use crate::quantity::Measure;
use crate::settings::{self, Temperature};
use crate::water::alarm::{Body, Over, Reason};
use crate::water::{ammonia_from_chloramine, thiosulfate_mg};

/// One alarm.
#[derive(Debug, Clone, PartialEq)]
pub struct Alarm {
    /// The place's name.
    pub place: String,
    /// Whose water it is.
    pub body: Body,
    /// Its litres, where known; of a tap those of a swap.
    pub litres: Option<f64>,
    /// Why.
    pub reason: Reason,
    /// Whether how to handle chemicals is to be said.
    pub gloves: bool,
}

/// An alarm as one line.
pub fn line(alarm: &Alarm, limits: &settings::Alarm, scale: Temperature) -> String {
    let words = Words { alarm, standard: settings::Alarm::default(), limits, scale };
    format!("Alarm: {}", words.reason())
}

/// Fish that spin where nobody has read the water.
pub fn spinning(place: &str, body: Body, swapped: bool) -> String {
    let first = if swapped { ", chlorine first as water was changed" } else { "" };
    let step = match body {
        Body::Bag => "Net them out into clean water with oxygen on",
        _ => "Oxygen on, no food, no more tap water until read",
    };
    format!("Alarm: {place} spinning: read ammonia, pH and chlorine now{first}. {step}; tell the lead")
}

/// Two significant figures; a meter and a kit give no more.
pub fn figures(value: f64) -> String {
    if value <= 0.0 {
        return "0".to_owned();
    }
    // A value that a reading can have is far inside of the range of i32.
    let places = (1 - value.log10().floor() as i32).clamp(0, 4);
    let text = format!("{value:.*}", usize::try_from(places).unwrap_or(0));
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

struct Words<'a> {
    alarm: &'a Alarm,
    standard: settings::Alarm,
    limits: &'a settings::Alarm,
    scale: Temperature,
}

/// Whether the fish are to leave the water they came in.
fn leave(body: Body) -> &'static str {
    match body {
        Body::Bag => {
            "net the fish out now into clean water just as warm, oxygen on; no air stone in the bag, no bag water along"
        }
        _ => "",
    }
}

impl Words<'_> {
    fn reason(&self) -> String {
        let place = &self.alarm.place;
        match &self.alarm.reason {
            Reason::Ammonia { nh3, at_least, over, limit, ph, celsius } => {
                let at_least = if *at_least { "at least " } else { "" };
                let mut basis = Vec::new();
                basis.extend(ph.map(|ph| format!("pH {}", plain(ph))));
                basis.extend(celsius.map(|(celsius, read)| {
                    if read { self.degrees(celsius) } else { format!("taken as {}", self.degrees(celsius)) }
                }));
                let basis = if basis.is_empty() { String::new() } else { format!(" ({})", basis.join(", ")) };
                format!(
                    "NH3 {at_least}{} mg/L as N in {place}{basis}, limit {} ({}): {}",
                    figures(*nh3),
                    figures(*limit),
                    self.source_of_ammonia(*over),
                    self.against_ammonia(*nh3, *limit)
                )
            }
            Reason::Oxygen { oxygen, limit } => {
                let source = source(self.limits.oxygen == self.standard.oxygen, "US EPA 1986");
                let step = match self.alarm.body {
                    Body::Bag => leave(Body::Bag),
                    Body::Tray => {
                        "oxygen into the tray now, or net the fish into water with oxygen; read again in 10 min"
                    }
                    Body::EmptyTank | Body::Tap => "oxygen or air on before fish go in",
                    Body::Tank => "oxygen or air on now, no food, fewer fish to the water; read again in 10 min",
                };
                format!("oxygen {} mg/L in {place}, limit {} ({source}): {step}", figures(*oxygen), figures(*limit))
            }
            Reason::CarbonDioxide { read, limit } => {
                let (same, named) = match self.alarm.body {
                    Body::Bag => (
                        self.limits.carbon_dioxide_bag == self.standard.carbon_dioxide_bag,
                        "first deaths in 24 h, J. Fish Wildl. Manage. 2020",
                    ),
                    _ => {
                        (self.limits.carbon_dioxide == self.standard.carbon_dioxide, "hauling, World Aquaculture 2007")
                    }
                };
                let step = match self.alarm.body {
                    Body::Bag => leave(Body::Bag),
                    Body::Tray => "read ammonia and pH; oxygen on, new water in, as air drives pH and NH3 up",
                    _ => "more air and surface movement; read ammonia and pH, as pH climbs",
                };
                format!(
                    "CO2 {} mg/L in {place}, limit {} ({}): {step}",
                    figures(*read),
                    figures(*limit),
                    source(same, named)
                )
            }
            Reason::Chlorine { chlorine, limit } => self.chlorine(*chlorine, *limit),
            Reason::Needs { measure, found, species, span } => {
                let range = match measure {
                    Measure::TempC => format!("{} to {}", self.degrees(span.low), self.degrees(span.high)),
                    _ => format!("pH {} to {}", plain(span.low), plain(span.high)),
                };
                let step = match self.alarm.body {
                    Body::Tap => "bring it nearer before the next swap",
                    _ => "read again, check heater and chiller with dry hands; bring it back slowly",
                };
                format!("{place} {}, {species} live at {range}: {step}", self.value(*measure, *found))
            }
            Reason::Swap { measure, found, place: into, there } => {
                let why = match measure {
                    Measure::TempC => {
                        let source = source(
                            self.limits.swap_temperature == self.standard.swap_temperature,
                            "Aquaculture Research 34:923",
                        );
                        format!(
                            "swapping half would move {into} by {}, limit {} ({source})",
                            self.difference((found - there).abs() / 2.0),
                            self.difference(self.limits.swap_temperature.get())
                        )
                    }
                    _ => format!("limit {} apart (the house's choice)", plain(self.limits.swap_ph.get())),
                };
                let step = match measure {
                    Measure::TempC if found < there => "warm it before the next swap",
                    Measure::TempC => "cool it before the next swap",
                    _ if found > there => "small swaps only: as pH climbs, ammonia turns toxic; read it first",
                    _ => "small swaps only, read pH between them",
                };
                let (there, found) = (self.value(*measure, *there), self.value(*measure, *found));
                format!("{place} {found}, {into} {there}: {why}; {step}")
            }
            Reason::Contradiction { ph, alkalinity } => format!(
                "{place} pH {} and alkalinity {} mg/L as CaCO3 cannot be true together: measure both again",
                plain(*ph),
                plain(*alkalinity)
            ),
            Reason::CarbonDioxideContradiction { read, ph, implied: Some((alkalinity, implied)) } => format!(
                "{place} CO2 {} mg/L cannot be true with pH {} and alkalinity {} mg/L as CaCO3, they make {}: measure them again",
                figures(*read),
                plain(*ph),
                plain(*alkalinity),
                figures(*implied)
            ),
            Reason::CarbonDioxideContradiction { read, ph, implied: None } => {
                format!("{place} CO2 {} mg/L cannot be true with pH {}: measure both again", figures(*read), plain(*ph))
            }
        }
    }

    fn source_of_ammonia(&self, over: Over) -> &'static str {
        match over {
            Over::LongTerm => {
                source(self.limits.nh3_long_term == self.standard.nh3_long_term, "for fish that stay, EIFAC 1970")
            }
            Over::Acute => source(self.limits.nh3_acute == self.standard.nh3_acute, "for hours, Piper 1982"),
        }
    }

    fn against_ammonia(&self, nh3: f64, limit: f64) -> String {
        match self.alarm.body {
            Body::Bag => leave(Body::Bag).to_owned(),
            Body::Tray => "net the fish into clean water just as warm, or swap half now; oxygen on, no food".to_owned(),
            Body::EmptyTank => "no fish in yet; swap water, read again".to_owned(),
            Body::Tank | Body::Tap => {
                // More than half at a time is a shock of its own.
                let half = nh3 >= 1.5 * limit;
                let part = if half { "half" } else { "a third" };
                format!("swap {part} now with water just as warm and no higher in pH, oxygen on, no food; read again")
            }
        }
    }

    fn chlorine(&self, chlorine: f64, limit: f64) -> String {
        let place = &self.alarm.place;
        let litres = self.alarm.litres.and_then(|litres| crate::quantity::Litres::new(litres).ok());
        let read = crate::quantity::ChlorineMgL::new(chlorine).ok();
        let dose = litres.zip(read).map(|(litres, read)| {
            format!(
                "{} sodium thiosulfate pentahydrate for {} L",
                weight(thiosulfate_mg(litres, read)),
                plain(litres.get())
            )
        });
        let of_one = crate::quantity::Litres::new(1.0).ok().zip(read).map(|(one, read)| thiosulfate_mg(one, read));
        let per_litre =
            format!("{} sodium thiosulfate pentahydrate for each litre", weight(of_one.unwrap_or_default()));
        let dose = dose.unwrap_or(per_litre);
        let step = match self.alarm.body {
            Body::Tap => format!("no swap before it is gone: {dose}, read again"),
            Body::Bag => format!("{}; or {dose}", leave(Body::Bag)),
            _ => format!("{dose} now, oxygen on, read again"),
        };
        let left = read.and_then(|read| ammonia_from_chloramine(read).ok()).map_or_else(String::new, |left| {
            format!(". If the mains has chloramine, {} mg/L ammonia as N stays: read it", figures(left.get()))
        });
        let gloves = if self.alarm.gloves { ". Gloves and goggles" } else { "" };
        format!("chlorine {} mg/L in {place}, limit {}: {step}{left}{gloves}", figures(chlorine), figures(limit))
    }

    fn value(&self, measure: Measure, value: f64) -> String {
        match measure {
            Measure::TempC => self.degrees(value),
            _ => format!("pH {}", plain(value)),
        }
    }

    fn degrees(&self, celsius: f64) -> String {
        match self.scale {
            Temperature::Celsius => format!("{} °C", plain(celsius)),
            Temperature::Fahrenheit => format!("{} °F", plain(celsius * 1.8 + 32.0)),
        }
    }

    fn difference(&self, celsius: f64) -> String {
        match self.scale {
            Temperature::Celsius => format!("{} °C", plain(celsius)),
            Temperature::Fahrenheit => format!("{} °F", plain(celsius * 1.8)),
        }
    }
}

/// A weight as a kitchen scale shows it.
fn weight(mg: f64) -> String {
    match mg {
        1000.0.. => format!("{} g", format!("{:.2}", mg / 1000.0).trim_end_matches('0').trim_end_matches('.')),
        100.0.. => format!("{mg:.0} mg"),
        _ => format!("{} mg", plain(mg)),
    }
}

/// To a tenth, as a meter shows it.
fn plain(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}

/// Where a limit comes from: the source of the default, or the house that set another.
fn source(standard: bool, named: &'static str) -> &'static str {
    if standard { named } else { "the house's limit" }
}

//! One way over, minute by minute.

use super::super::carbonate::FreshWater;
use super::super::error::Unsound;
use super::{PlanLimits, SaltWater, Water, salt_nh3};
use crate::quantity::{CarbonDioxideMicroatm, Celsius, Litres};

/// Minutes of hands: a choice, of a practised crew. To open a bag and net its fish.
const NETTING: u32 = 3;
/// To pour off and refill once.
const POURING: u32 = 2;
/// To lay a drip line into a tub, and to look at it each quarter of an hour.
const LAYING: u32 = 6;
const LOOKING_EVERY: u32 = 15;
/// To lay a bag into the tank and read its temperature afterwards.
const FLOATING: u32 = 2;
/// Nobody floats a bag longer: then the receiving water is brought to the bag.
const LONGEST_FLOAT: f64 = 120.0;

/// A way to bring fish from the water of a bag into that of a tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// Temperature first, in the closed bag; then the fish are netted over, without the bag's water.
    Direct,
    /// Temperature first; then part of the bag's water is poured off and replaced, again and again.
    Stepwise,
    /// Temperature first; then tank water drips into the bag's water.
    Drip,
}

impl Way {
    /// All of them.
    pub const ALL: [Way; 3] = [Way::Direct, Way::Stepwise, Way::Drip];
}

/// What is done, in order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Float the closed bag.
    Float {
        /// About how long, minutes.
        minutes: u32,
    },
    /// Receive the fish in water of the bag's temperature, which then goes over to the tank's: there is no time to float,
    /// or the gap is too large for it.
    MatchTemperature {
        /// The bag's temperature.
        to: Celsius,
    },
    /// Open the bag and pour off and refill.
    Pour {
        /// The part, 0 to 1.
        part: f64,
        /// How often.
        times: u32,
        /// Minutes from one to the next.
        every: u32,
    },
    /// Open the bag into a tub and let tank water drip in.
    Drip {
        /// Tank water, in parts of the bag's.
        parts: f64,
        /// In how many minutes.
        minutes: u32,
    },
    /// Net the fish into the tank; the bag's water goes to the drain.
    Net,
}

/// What the fish are in at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Minutes from the beginning. Two points of one minute are before and after waters were brought together.
    pub minute: u32,
    /// NH3, mg/L as N.
    pub nh3: f64,
    /// Temperature, °C.
    pub celsius: f64,
    /// pH.
    pub ph: f64,
}

/// A way through time.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Which.
    pub way: Way,
    /// What the fish are in, in the order of time.
    pub points: Vec<Point>,
    /// The highest NH3, mg/L as N.
    pub nh3_peak: f64,
    /// NH3 by time, mg/L as N × minutes, until the longest of the ways is over.
    pub nh3_minutes: f64,
    /// The largest change of temperature within a minute, °C.
    pub temperature_jump: f64,
    /// The largest change of pH within a minute.
    pub ph_jump: f64,
    /// The highest NH3 just after waters were brought together, before gas left, mg/L as N; none where none were.
    pub closed_mix_nh3: Option<f64>,
    /// Minutes of work of somebody's hands. A choice, of a practised crew.
    pub hands: u32,
    /// What is done.
    pub steps: Vec<Step>,
}

impl Course {
    /// Minutes until the fish are in the tank.
    pub fn minutes(&self) -> u32 {
        self.points.last().map_or(0, |point| point.minute)
    }

    /// Lets the fish stay in the tank until this minute, and sums up.
    pub(super) fn last_until(&mut self, minute: u32) {
        if let Some(last) = self.points.last().copied().filter(|last| last.minute < minute) {
            self.points.push(Point { minute, ..last });
        }
        let pairs = || self.points.iter().zip(self.points.iter().skip(1));
        self.nh3_minutes =
            pairs().map(|(one, other)| 0.5 * (one.nh3 + other.nh3) * f64::from(other.minute - one.minute)).sum();
        let jump = |of: fn(&Point) -> f64| pairs().map(|(one, other)| (of(other) - of(one)).abs()).fold(0.0, f64::max);
        self.temperature_jump = jump(|point| point.celsius);
        self.ph_jump = jump(|point| point.ph);
        self.nh3_peak = self.points.iter().map(|point| point.nh3).fold(0.0, f64::max);
    }
}

/// What the fish are in while it changes.
#[derive(Debug, Clone, Copy)]
enum Around {
    Fresh {
        water: FreshWater,
        /// The carbon it will hold when it is at rest with the room's air, until something else changes.
        at_rest: Option<f64>,
    },
    Salt {
        celsius: f64,
        ammonia: f64,
        salinity: f64,
        ph: f64,
    },
}

impl Around {
    fn of(water: &Water) -> Self {
        match water {
            Water::Fresh(water) => Around::Fresh { water: *water, at_rest: None },
            Water::Salt(SaltWater { temperature, ph, ammonia, salinity }) => Around::Salt {
                celsius: temperature.get(),
                ammonia: ammonia.get(),
                salinity: salinity.get(),
                ph: ph.get(),
            },
        }
    }

    fn point(&self, minute: u32) -> Result<Point, Unsound> {
        Ok(match self {
            Around::Fresh { water, .. } => {
                let (ph, nh3) = water.ph_and_unionised()?;
                Point { minute, nh3, celsius: water.temperature()?.get(), ph }
            }
            Around::Salt { celsius, ammonia, salinity, ph } => {
                Point { minute, nh3: salt_nh3(*ammonia, *celsius, *salinity, *ph)?, celsius: *celsius, ph: *ph }
            }
        })
    }

    fn warm_to(&mut self, to: Celsius) {
        match self {
            Around::Fresh { water, at_rest } => (*water, *at_rest) = (water.at(to), None),
            Around::Salt { celsius, .. } => *celsius = to.get(),
        }
    }

    /// Salt water that stands open or is mixed is taken at the higher of both pH: the worst case. In the minutes of netting
    /// little gas leaves.
    fn open(&mut self, tank: &Water) -> Result<(), Unsound> {
        if let Around::Salt { ph, .. } = self {
            *ph = ph.max(tank.ph()?.get());
        }
        Ok(())
    }

    /// Brings tank water in, as this part of the whole, with no time for gas to leave.
    fn mix(&mut self, tank: &Water, part: f64) -> Result<(), Unsound> {
        match (self, tank) {
            (Around::Fresh { water, at_rest }, Water::Fresh(tank)) => {
                *water = FreshWater::mix(&[(Litres::new(1.0 - part)?, *water), (Litres::new(part)?, *tank)])?;
                *at_rest = None;
            }
            (Around::Salt { celsius, ammonia, salinity, .. }, tank) => {
                let towards = |now: &mut f64, new: f64| *now += (new - *now) * part;
                towards(celsius, tank.temperature()?.get());
                towards(ammonia, tank.ammonia()?.get());
                towards(salinity, tank.salinity());
            }
            // A plan has both as salt water where one of them is.
            (Around::Fresh { .. }, Water::Salt(_)) => {}
        }
        Ok(())
    }

    /// A minute in which gas leaves: this part of the excess stays.
    fn stand(&mut self, air: CarbonDioxideMicroatm, stays: f64) -> Result<(), Unsound> {
        if let Around::Fresh { water, at_rest } = self {
            let end = match at_rest {
                Some(end) => *end,
                None => *at_rest.insert(water.under(air)?.carbon()),
            };
            *water = water.with_carbon(end + (water.carbon() - end) * stays);
        }
        Ok(())
    }
}

struct Run<'a> {
    tank: &'a Water,
    limits: &'a PlanLimits,
    air: CarbonDioxideMicroatm,
    /// The part of the excess of carbon dioxide that stays for a minute.
    stays: f64,
    around: Around,
    minute: u32,
    course: Course,
}

/// Simulates a way until the fish are in the tank.
pub(super) fn simulate(
    way: Way,
    bag: &Water,
    tank: &Water,
    urgent: bool,
    limits: &PlanLimits,
) -> Result<Course, Unsound> {
    let course = Course {
        way,
        points: Vec::with_capacity(256),
        nh3_peak: 0.0,
        nh3_minutes: 0.0,
        temperature_jump: 0.0,
        ph_jump: 0.0,
        closed_mix_nh3: None,
        hands: 0,
        steps: Vec::new(),
    };
    let stays = (-limits.gas_exchange / 60.0).exp();
    let air = CarbonDioxideMicroatm::new(limits.room_air)?;
    let mut run = Run { tank, limits, air, stays, around: Around::of(bag), minute: 0, course };
    run.note()?;
    let straight = urgent && way == Way::Direct;
    let matched = run.temper(straight)?;
    if way != Way::Direct {
        run.around.open(tank)?;
    }
    match way {
        Way::Direct => {}
        Way::Stepwise => run.pour()?,
        Way::Drip => run.drip()?,
    }
    run.net(matched)?;
    Ok(run.course)
}

impl Run<'_> {
    fn note(&mut self) -> Result<(), Unsound> {
        self.course.points.push(self.around.point(self.minute)?);
        Ok(())
    }

    /// Floats the bag until it is near the tank's temperature. Where there is no time for that, or no end of it, gives the
    /// temperature that the receiving water must have.
    fn temper(&mut self, straight: bool) -> Result<Option<Celsius>, Unsound> {
        let last = self.course.points.last().map_or(0.0, |point| point.celsius);
        let to = self.tank.temperature()?;
        let gap = to.get() - last;
        if gap.abs() < self.limits.temperature_step {
            return Ok(None);
        }
        // A little under the step, for it must be less.
        let near = 0.99 * self.limits.temperature_step;
        let minutes = self.limits.float_half_minutes * (gap.abs() / near).log2();
        if straight || minutes > LONGEST_FLOAT {
            let to = Celsius::new(last)?;
            self.course.steps.push(Step::MatchTemperature { to });
            return Ok(Some(to));
        }
        // The check before it makes the conversion exact enough.
        let minutes = minutes.ceil() as u32;
        for minute in 1..=minutes {
            let left = gap * (-f64::from(minute) / self.limits.float_half_minutes).exp2();
            self.around.warm_to(Celsius::new(to.get() - left)?);
            self.minute += 1;
            self.note()?;
        }
        self.course.hands += FLOATING;
        self.course.steps.push(Step::Float { minutes });
        Ok(None)
    }

    fn stand(&mut self, minutes: u32) -> Result<(), Unsound> {
        for _ in 0..minutes {
            self.around.stand(self.air, self.stays)?;
            self.minute += 1;
            self.note()?;
        }
        Ok(())
    }

    fn mix(&mut self, part: f64) -> Result<(), Unsound> {
        self.around.mix(self.tank, part)?;
        self.note()?;
        let nh3 = self.course.points.last().map_or(0.0, |point| point.nh3);
        let highest = self.course.closed_mix_nh3.get_or_insert(0.0);
        *highest = highest.max(nh3);
        Ok(())
    }

    fn pour(&mut self) -> Result<(), Unsound> {
        let PlanLimits { pour, pour_minutes, pours, .. } = *self.limits;
        for _ in 0..pours {
            self.mix(pour)?;
            self.stand(pour_minutes)?;
        }
        self.course.hands += POURING * pours;
        self.course.steps.push(Step::Pour { part: pour, times: pours, every: pour_minutes });
        Ok(())
    }

    fn drip(&mut self) -> Result<(), Unsound> {
        let PlanLimits { drip_parts, drip_minutes, .. } = *self.limits;
        let each = drip_parts / f64::from(drip_minutes.max(1));
        for minute in 0..drip_minutes {
            let here = 1.0 + each * f64::from(minute);
            self.mix(each / (here + each))?;
            self.stand(1)?;
        }
        self.course.hands += LAYING + drip_minutes / LOOKING_EVERY;
        self.course.steps.push(Step::Drip { parts: drip_parts, minutes: drip_minutes });
        Ok(())
    }

    /// The fish leave the bag's water. Netting takes some minutes, in opened water.
    fn net(&mut self, matched: Option<Celsius>) -> Result<(), Unsound> {
        self.stand(NETTING)?;
        self.course.hands += NETTING;
        self.course.steps.push(Step::Net);
        self.around = Around::of(self.tank);
        let Some(from) = matched else { return self.note() };
        // The water that received them goes over to the tank's temperature, as a floating bag does.
        let to = self.tank.temperature()?;
        let gap = to.get() - from.get();
        self.around.warm_to(from);
        self.note()?;
        let minutes = (self.limits.float_half_minutes * (gap.abs() / 0.1).log2()).clamp(0.0, 600.0).ceil() as u32;
        for minute in 1..=minutes {
            let left = gap * (-f64::from(minute) / self.limits.float_half_minutes).exp2();
            self.around.warm_to(Celsius::new(to.get() - left)?);
            self.minute += 1;
            self.note()?;
        }
        Ok(())
    }
}

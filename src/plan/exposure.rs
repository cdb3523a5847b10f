//! How the arrays stand through time, and what a sky makes them offer.
//!
//! Lives here: which arrays stand outside in which slice, when snow may fall and be cleared, and
//! the one walk that turns the light of each hour into what each source has. The light itself
//! comes from elsewhere ([`HourSky`]): the sky of a run, or the drawn sky of a trial.

use super::coldest::AS_WRITTEN_C;
use super::{MOST_SOURCES, Offered, SHAPE_V};
use crate::scenario::Scenario;
use crate::scenario::sources::{Array, Controller, Pwm};
use crate::sky::Sky;
use crate::station::battery::OneWell;
use crate::station::panel::{PanelArray, array_power_w, rated_share_power_w};
use crate::station::snow::SnowCover;
use crate::station::switching::PanelShape;

/// An array on its controller.
#[derive(Debug, Clone)]
pub struct WiredArray {
    panel: PanelArray,
    /// The source that it feeds.
    pub source: Option<usize>,
    /// On a switching controller: its curve, and how it is held.
    shape: Option<Held>,
    shape_v: f64,
    tilt_deg: f64,
    rows_up_slope: u32,
}

/// The panels of a switching controller: their curve and the volts at which they are held.
#[derive(Debug, Clone, Copy)]
struct Held {
    shape: PanelShape,
    /// Between panel and battery, V.
    drop_v: f64,
    /// Highest battery volts that the controller holds at 25 deg C, V, and their change, V/K.
    set_v: f64,
    set_v_per_k: f64,
}

impl Held {
    fn new(array: &Array, it: &Pwm, battery: &OneWell) -> Option<Self> {
        let set_v = it.set_points.absorption_v.max(it.set_points.float_v.unwrap_or(0.0));
        // Without resistance the volts never rise above those of a full battery.
        let stiff = battery.resistance_ohm < 1e-6 && battery.second.is_none();
        array.datasheet.map(|sheet| Self {
            shape: PanelShape::new(array, &sheet),
            drop_v: it.drop_v,
            set_v: if stiff { set_v.min(battery.rest_v(1.0)) } else { set_v },
            set_v_per_k: it.set_points.compensation_v_per_k.unwrap_or(0.0),
        })
    }

    /// Current at `shape_v`, A, and its change with battery volts: never more power than is available
    /// at any volts that the controller holds. Label and rated power come from different models, and
    /// the straight line knows no knee.
    fn line(&self, light: Light, air_c: f64, shape_v: f64, available_w: f64) -> (f64, f64) {
        let current_a = |volts: f64| self.shape.current_a(light.w_m2(), air_c, volts + self.drop_v);
        let at_a = current_a(shape_v);
        let per_v = current_a(shape_v + 0.5) - current_a(shape_v - 0.5);
        let power_w =
            |volts: f64| (at_a + per_v * (volts - shape_v)).max(0.0) * (volts + self.drop_v);
        let held_v = (self.set_v + self.set_v_per_k * (air_c - AS_WRITTEN_C)).max(shape_v);
        // A parabola that opens downwards: its top, where that lies below what is held.
        let top_v = if per_v < 0.0 {
            ((shape_v - self.drop_v - at_a / per_v) / 2.0).min(held_v)
        } else {
            held_v
        };
        let most_w = power_w(top_v).max(power_w(held_v));
        let kept = if most_w > available_w { available_w / most_w } else { 1.0 };
        (kept * at_a, kept * per_v)
    }
}

/// What falls on an array.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Light {
    /// Irradiance that gets through its glass, W/m2.
    Plane(f64),
    /// Output as a share of rated.
    RatedShare(f64),
}

impl WiredArray {
    /// An array of a scenario.
    #[must_use]
    pub fn new(scenario: &Scenario, array: &Array, battery: &OneWell) -> Self {
        let shape = match scenario.controllers.get(&array.controller) {
            Some(Controller::Pwm(it)) => Held::new(array, it, battery),
            _ => None,
        };
        Self {
            panel: PanelArray::from(array),
            source: scenario
                .controllers
                .get_index_of(&array.controller)
                .filter(|source| *source < MOST_SOURCES),
            shape,
            shape_v: SHAPE_V * battery.nominal_v,
            tilt_deg: array.tilt_deg,
            rows_up_slope: array.rows_up_slope,
        }
    }

    /// Whether the curve of its panels counts, not their greatest power alone.
    #[must_use]
    pub fn has_shape(&self) -> bool {
        self.shape.is_some()
    }

    /// What it offers in this light.
    #[must_use]
    pub fn gives(&self, light: Light, air_c: f64) -> Offered {
        let available_w = match light {
            Light::RatedShare(share) => rated_share_power_w(&self.panel, share),
            Light::Plane(in_plane_w_m2) => array_power_w(&self.panel, in_plane_w_m2, air_c),
        };
        let mut gives = Offered { available_w, ..Offered::default() };
        if let Some(held) = &self.shape {
            (gives.shape_a, gives.shape_a_per_v) =
                held.line(light, air_c, self.shape_v, available_w);
        }
        gives
    }
}

impl Light {
    /// As irradiance, W/m2.
    #[must_use]
    pub fn w_m2(self) -> f64 {
        match self {
            Self::Plane(in_plane_w_m2) => in_plane_w_m2,
            Self::RatedShare(share) => share * 1000.0,
        }
    }
}

/// One slice under the sky.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SliceSky {
    /// When it begins, h since the first slice does.
    pub begins_h: f64,
    /// Length, h.
    pub hours: f64,
    /// The hour of weather it lies in.
    pub hour: Option<usize>,
    /// Whether it snows as it begins.
    pub snows: bool,
    /// Whether somebody may clear the panels.
    pub may_clear: bool,
}

/// How the arrays stand through time.
#[derive(Debug, Clone)]
pub struct Exposure {
    /// The arrays, in the order of the scenario.
    pub arrays: Vec<WiredArray>,
    /// The slices.
    pub slices: Vec<SliceSky>,
    /// Whether an array stands outside, by slice then array.
    pub out: Vec<bool>,
    /// Hours after a fall of snow from which on somebody clears the panels.
    pub cleared_after_h: Option<f64>,
}

/// What [`Exposure::walk`] notes of each array on its way.
#[derive(Debug, Clone, Default)]
pub struct ExposureRoom {
    covers: Vec<SnowCover>,
    hour_gives: Vec<Offered>,
}

/// The sky of a run, hour by hour.
pub trait HourSky {
    /// What every array offers in an hour; whether any offers something.
    fn gives(&mut self, hour: usize, gives: &mut [Offered]) -> bool;
    /// Light on an array, W/m2: snow asks for it.
    fn light_w_m2(&self, hour: usize, array: usize) -> f64;
    /// Air temperature, deg C.
    fn air_c(&self, hour: usize) -> f64;
    /// Whether a storm brings snow as slice `at` begins.
    fn storm_snows(&self, at: usize) -> bool {
        let _ = at;
        false
    }
}

impl Exposure {
    /// What the arrays of each source offer, by slice then source.
    #[must_use]
    pub fn offered(&self, sky: &mut impl HourSky, sources: usize) -> Vec<Offered> {
        let mut offered = vec![Offered::default(); self.slices.len() * sources];
        let room = &mut ExposureRoom::default();
        self.walk(0..self.slices.len(), sky, room, |at, source, gives| {
            let sum = &mut offered[at * sources + source];
            sum.available_w += gives.available_w;
            sum.shape_a += gives.shape_a;
            sum.shape_a_per_v += gives.shape_a_per_v;
        });
        offered
    }

    /// Walks through slices: `add(slice, source, what an array adds to it)`.
    pub fn walk(
        &self,
        slices: std::ops::Range<usize>,
        sky: &mut impl HourSky,
        room: &mut ExposureRoom,
        mut add: impl FnMut(usize, usize, Offered),
    ) {
        let count = self.arrays.len();
        room.covers.clear();
        room.covers.resize(count, SnowCover::default());
        room.hour_gives.clear();
        room.hour_gives.resize(count, Offered::default());
        let ExposureRoom { covers, hour_gives } = room;
        let mut snowed = false;
        let mut hour_done = usize::MAX;
        let mut lit = false;
        for at in slices {
            let slice = &self.slices[at];
            let Some(hour) = slice.hour else { continue };
            if hour != hour_done {
                hour_done = hour;
                lit = sky.gives(hour, hour_gives);
            }
            let snows = slice.snows || sky.storm_snows(at);
            snowed |= snows;
            if !snowed {
                // Most slices: nothing lies on the panels.
                if lit {
                    let out = &self.out[at * count..(at + 1) * count];
                    for ((wired, gives), out) in self.arrays.iter().zip(&*hour_gives).zip(out) {
                        if let Some(source) = wired.source.filter(|_| *out) {
                            add(at, source, *gives);
                        }
                    }
                }
                continue;
            }
            for (array, wired) in self.arrays.iter().enumerate() {
                let out = self.out[at * count + array];
                let cover = &mut covers[array];
                let clears = slice.may_clear
                    && self.cleared_after_h.is_some_and(|after_h| cover.lies_for_h(after_h));
                if !out || clears {
                    cover.clear();
                }
                if snows && out {
                    cover.fall();
                }
                let free = cover.free_share(wired.rows_up_slope);
                if let Some(source) = wired.source.filter(|_| out) {
                    let gives = &hour_gives[array];
                    add(
                        at,
                        source,
                        Offered {
                            available_w: gives.available_w * free,
                            shape_a: gives.shape_a * free,
                            shape_a_per_v: gives.shape_a_per_v * free,
                        },
                    );
                }
                let light_w_m2 = sky.light_w_m2(hour, array);
                let air_c = sky.air_c(hour);
                cover.slide(light_w_m2, air_c, wired.tilt_deg, slice.hours);
            }
            snowed = covers.iter().any(SnowCover::lies);
        }
    }
}

/// The hours of a [`Sky`].
pub struct OfSky<'a> {
    sky: &'a Sky,
    arrays: &'a [WiredArray],
    profiled: bool,
}

impl<'a> OfSky<'a> {
    /// The sky over these arrays; a profile may state their output outright.
    #[must_use]
    pub fn new(sky: &'a Sky, arrays: &'a [WiredArray], profiled: bool) -> Self {
        Self { sky, arrays, profiled }
    }

    fn light(&self, hour: usize, array: usize) -> Light {
        match self.sky.hours()[hour].rated_share.filter(|_| self.profiled) {
            Some(share) => Light::RatedShare(share),
            None => Light::Plane(self.sky.in_plane_w_m2(hour)[array]),
        }
    }
}

impl HourSky for OfSky<'_> {
    fn gives(&mut self, hour: usize, gives: &mut [Offered]) -> bool {
        for (array, gives) in gives.iter_mut().enumerate() {
            *gives = self.arrays[array].gives(self.light(hour, array), self.air_c(hour));
        }
        true
    }
    fn light_w_m2(&self, hour: usize, array: usize) -> f64 {
        self.light(hour, array).w_m2()
    }
    fn air_c(&self, hour: usize) -> f64 {
        self.sky.hours()[hour].air_c
    }
}

//! The name of a draw: seed, trial, day, purpose, block, branch.
//!
//! The same name always gives the same numbers. So a trial is the same whoever draws first, two
//! strategies meet the same weather, a new purpose changes no old draw, and a run that starts
//! elsewhere in the year keeps the sky of its dates. Layout: key = seed, counter =
//! `[trial (low 32 bits), day, purpose << 16 | block, trial (next 24 bits) | branch << 24]`.
//! Trust: exact.

use super::philox::{ROUNDS, block, long_words, uniform_of_long};
use crate::numbers::lane::Wide;

/// What a draw is for. The numbers are part of what a seed means: they never change, and a new
/// purpose takes a new number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u16)]
pub enum Purpose {
    /// Clearness of the day, or its day type.
    Sky = 1,
    /// Which days of a measured series are replayed.
    SkyDays = 2,
    /// Air temperature of the day.
    Air = 3,
    /// When the mains fails.
    OutageStart = 16,
    /// How long it stays away.
    OutageLength = 17,
    /// At which hour of a season a forced outage begins.
    OutageHour = 18,
    /// Whether a warning comes before an outage, and how long before.
    Warning = 32,
    /// Warnings without an outage.
    FalseAlarm = 33,
    /// How dark the days of a storm are.
    Storm = 48,
    /// How long snow lies on the panels.
    Snow = 49,
    /// Days on which the panels are stowed against wind.
    Wind = 50,
    /// How far the load is from its stated value.
    UncertainLoad = 64,
    /// How far the battery's capacity is from its stated value.
    UncertainCapacity = 65,
    /// How far the output of the arrays is from its stated value.
    UncertainArray = 66,
    /// Whether an engine starts.
    EngineStart = 80,
    /// Whether somebody is there.
    Attendance = 96,
    /// Whether a member of a club comes.
    Member = 97,
    /// The days of a told outlook.
    Outlook = 112,
    /// How full the battery is when that is known only within a range.
    StartCharge = 113,
    /// Which trials are taken again when a count is resampled.
    Resample = 128,
    /// Draws of no model: checks and measurements.
    Check = 0xffff,
}

impl Purpose {
    /// All of them.
    pub const ALL: [Self; 21] = [
        Self::Sky,
        Self::SkyDays,
        Self::Air,
        Self::OutageStart,
        Self::OutageLength,
        Self::OutageHour,
        Self::Warning,
        Self::FalseAlarm,
        Self::Storm,
        Self::Snow,
        Self::Wind,
        Self::UncertainLoad,
        Self::UncertainCapacity,
        Self::UncertainArray,
        Self::EngineStart,
        Self::Attendance,
        Self::Member,
        Self::Outlook,
        Self::StartCharge,
        Self::Resample,
        Self::Check,
    ];

    /// Its number in the counter.
    #[must_use]
    pub const fn number(self) -> u16 {
        self as u16
    }
}

/// The name of a draw. A name stands for four 32-bit words, which make two uniform deviates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Draw {
    /// What the user calls the seed.
    pub seed: u64,
    /// Number of the trial, below 2^56; trials 2^56 apart are the same.
    pub trial: u64,
    /// Number of the date, whichever count of days the caller keeps to.
    pub day: u32,
    /// What it is for.
    pub purpose: Purpose,
    /// Number of the draw within day and purpose.
    pub block: u16,
    /// Copy of a trial that was split on its way; 0 for a plain trial.
    pub branch: u8,
}

impl Draw {
    /// The first draw of a day and a purpose in a plain trial.
    #[must_use]
    pub const fn new(seed: u64, trial: u64, day: u32, purpose: Purpose) -> Self {
        Self { seed, trial, day, purpose, block: 0, branch: 0 }
    }

    /// The same day and trial for another purpose.
    #[must_use]
    pub const fn with_purpose(self, purpose: Purpose) -> Self {
        Self { purpose, ..self }
    }

    /// The same day, trial and purpose, another number.
    #[must_use]
    pub const fn with_block(self, block: u16) -> Self {
        Self { block, ..self }
    }

    /// The key: the seed, low word first.
    #[must_use]
    #[inline(always)]
    #[allow(clippy::cast_possible_truncation)]
    pub const fn key(self) -> [u32; 2] {
        [self.seed as u32, (self.seed >> 32) as u32]
    }

    /// The counter.
    #[must_use]
    #[inline(always)]
    pub fn counter(self) -> [u32; 4] {
        self.counters([self.trial]).map(|[word]| word)
    }

    /// The counters of several trials.
    #[inline(always)]
    #[allow(clippy::cast_possible_truncation)]
    fn counters<const N: usize>(self, trials: [u64; N]) -> [[u32; N]; 4] {
        let purpose = (u32::from(self.purpose.number()) << 16) | u32::from(self.block);
        let branch = u32::from(self.branch) << 24;
        [
            trials.map(|trial| trial as u32),
            [self.day; N],
            [purpose; N],
            trials.map(|trial| ((trial >> 32) as u32 & 0x00ff_ffff) | branch),
        ]
    }

    /// The four words.
    #[must_use]
    #[inline(always)]
    pub fn words(self) -> [u32; 4] {
        block(self.counter(), self.key())
    }

    /// One uniform deviate in (0, 1): the first of [`Draw::pair`].
    #[must_use]
    #[inline(always)]
    pub fn uniform(self) -> f64 {
        self.pair()[0]
    }

    /// Two uniform deviates in (0, 1).
    #[must_use]
    #[inline(always)]
    pub fn pair(self) -> [f64; 2] {
        uniforms(self.counter().map(|word| [word]), self.key()).map(|[deviate]| deviate)
    }

    /// Four uniform deviates in (0, 1): the pair of this block, then that of the next (after the
    /// last block comes the first).
    #[must_use]
    #[inline(always)]
    pub fn four(self) -> [f64; 4] {
        let next = self.with_block(self.block.wrapping_add(1)).counter();
        let this = self.counter();
        let both = std::array::from_fn(|word| [this[word], next[word]]);
        let [first, second] = uniforms(both, self.key());
        [first[0], second[0], first[1], second[1]]
    }

    /// The [`Draw::pair`] of `N` trials that follow each other, this one first; lane by lane the
    /// same bits.
    #[must_use]
    #[inline(always)]
    pub fn pair_in_lanes<const N: usize>(self) -> [Wide<N>; 2] {
        self.pair_of_trials(std::array::from_fn(|lane| self.trial.wrapping_add(lane as u64)))
    }

    /// The [`Draw::pair`] of the trials named, whatever `self.trial` is.
    #[must_use]
    #[inline(always)]
    pub fn pair_of_trials<const N: usize>(self, trials: [u64; N]) -> [Wide<N>; 2] {
        uniforms(self.counters(trials), self.key()).map(Wide)
    }
}

/// Two uniform deviates a lane: words 0 and 1, then words 2 and 3.
#[inline(always)]
fn uniforms<const N: usize>(counters: [[u32; N]; 4], key: [u32; 2]) -> [[f64; N]; 2] {
    let [a, b, c, d] = long_words::<ROUNDS, N>(counters, key);
    [
        std::array::from_fn(|lane| uniform_of_long(a[lane], b[lane])),
        std::array::from_fn(|lane| uniform_of_long(c[lane], d[lane])),
    ]
}

//! The file of a club: several stations under one weather and one grid, as its author typed it.
//!
//! What belongs to a station is written as in a scenario and stays plain JSON here: it is merged
//! (RFC 7386) with what all stations share and judged as a scenario (`plan::club`).

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Named;
use super::watch::OffWatch;

/// A part of a scenario: any keys of it.
pub type Part = serde_json::Map<String, serde_json::Value>;

/// A club exercise.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Club {
    /// Version of this file format; 2.
    pub format: u32,
    /// What the results are headed with.
    pub title: String,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Keys of a scenario that hold for every station and for the charging point: `site`, `span`, `sun`,
    /// `grid`, `windows` and whatever else they share. They replace what a station's file says.
    pub common: Part,
    /// The stations, by name.
    pub stations: Named<ClubStation>,
    /// Who is on watch: window to names of stations. A station on no line is on watch all the time.
    #[serde(default, skip_serializing_if = "Named::is_empty")]
    pub roster: Named<Vec<String>>,
    /// The packs that are carried to and fro.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub packs: Option<Packs>,
    /// Where packs are charged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charging_point: Option<ChargingPoint>,
    /// Who comes, by name: everybody who owns something.
    #[serde(default, skip_serializing_if = "Named::is_empty")]
    pub members: Named<Member>,
    /// What is brought besides stations, packs and the charging point.
    #[serde(default, skip_serializing_if = "Named::is_empty")]
    pub gear: Named<Belonging>,
    /// How many stations must be up for the club to count as up.
    #[serde(default)]
    pub counts_as_up: CountsAsUp,
    /// Chance of staying on the air of the club for which spare packs are counted.
    #[serde(default = "nine_in_ten")]
    pub target_chance: f64,
    /// What prices are in, for the packing list.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
}

fn nine_in_ten() -> f64 {
    0.9
}

/// One of the stations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClubStation {
    /// Where its scenario is.
    pub from: StationText,
    /// Changes to that scenario, as a merge patch (RFC 7386): `null` takes a key away.
    #[serde(default, skip_serializing_if = "Part::is_empty")]
    pub patch: Part,
    /// What it asks for while it is not on watch.
    #[serde(default)]
    pub off_watch: OffWatch,
    /// When its pack is swapped; never when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub swap: Option<Swap>,
    /// Member whose it is: without that member there is no such station.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owner: Option<String>,
    /// What it weighs without packs, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
    /// What it costs without packs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// Where a scenario is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum StationText {
    /// In a file of its own, looked for beside this one.
    File(String),
    /// Here: keys of a scenario; what `common` says need not be said again.
    Inline(Part),
}

/// When a station's pack is swapped for a spare one. Somebody looks on the hour, in the attended hours
/// of the station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Swap {
    /// Charge below which a spare is sent for.
    pub below_share: f64,
    /// Least charge of a spare that is taken.
    #[serde(default = "well_charged")]
    pub spare_above_share: f64,
    /// What happens to the loads while one pack is unplugged and the other is not yet switched on.
    #[serde(default)]
    pub handover: Handover,
    /// How long a pack is carried each way, min; whole steps count.
    #[serde(default)]
    pub carry_min: f64,
    /// Whether the minutes of the handover count as off the air.
    #[serde(default)]
    pub counts_as_off_air: bool,
}

/// 0.8: common practice, no source.
fn well_charged() -> f64 {
    0.8
}

/// What happens to the loads while packs are swapped.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Handover {
    /// Something else supplies them: nothing goes off.
    Bridged,
    /// They are off for these minutes.
    OffMin(f64),
}

impl Default for Handover {
    /// 2 min: common practice, no source.
    fn default() -> Self {
        Self::OffMin(2.0)
    }
}

/// Packs of one kind and size, never side by side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Packs {
    /// What each of them is: a `battery` as in a scenario, of one string. Stations without a battery of
    /// their own take these.
    pub battery: Part,
    /// Each pack, by name.
    pub each: Named<ClubPack>,
    /// What a pack that has to be bought costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare_price: Option<f64>,
    /// What it weighs, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare_mass_kg: Option<f64>,
}

/// One pack.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClubPack {
    /// Station in which it stands when the exercise begins; a spare when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// Its charge then.
    #[serde(default = "full")]
    pub charge_share: f64,
    /// Member whose it is: without that member there is no such pack.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owner: Option<String>,
    /// What it weighs, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
    /// What it costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

fn full() -> f64 {
    1.0
}

/// Where packs are charged, one at a time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChargingPoint {
    /// Its scenario: a station that charges (`supply` with a charger, `generator`, `arrays`, `controllers`)
    /// and has no loads.
    pub from: StationText,
    /// Changes to that scenario, as a merge patch (RFC 7386).
    #[serde(default, skip_serializing_if = "Part::is_empty")]
    pub patch: Part,
    /// Which of the waiting packs comes next.
    #[serde(default)]
    pub queue: Queue,
    /// Charge at which a pack makes room for the next.
    #[serde(default = "charged")]
    pub done_above_share: f64,
    /// Member whose charger it is: without that member nothing is charged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owner: Option<String>,
    /// Member whose generator it is: without that member it does not run.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub generator_owner: Option<String>,
    /// What it weighs with its generator, kg; without fuel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
    /// What it costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// 0.95: what is left comes slowly (judgement).
fn charged() -> f64 {
    0.95
}

/// Which of the waiting packs comes next.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Queue {
    /// The one that has waited longest.
    #[default]
    FirstCome,
    /// The emptiest.
    LowestFirst,
    /// The one that is ready soonest.
    FullestFirst,
}

/// Somebody who comes, or does not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Member {
    /// Chance that this member comes, with everything that is theirs.
    #[serde(default = "full")]
    pub comes_chance: f64,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// Something that is brought.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Belonging {
    /// How many.
    #[serde(default = "one")]
    pub count: u32,
    /// Member who brings it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owner: Option<String>,
    /// What one weighs, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
    /// What one costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

fn one() -> u32 {
    1
}

/// How many stations must be up for the club to count as up.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CountsAsUp {
    /// All of them.
    #[default]
    All,
    /// So many at every moment, whichever.
    AtLeast(u32),
}

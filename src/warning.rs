//! Warnings are data: terminal, summary and charts say the same words.

use serde::{Deserialize, Serialize};

/// Something the reader of a result should know.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Warning {
    /// A stable word for programs.
    pub kind: Kind,
    /// JSON path of what it is about, `arrays.roof.tilt_deg`; empty for the whole station.
    pub path: String,
    /// The sentence for people.
    pub text: String,
}

/// Kinds of warnings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Kind {
    /// A source's output limit cuts what its arrays could give.
    Clipping,
    /// A panel faces the pole.
    FacesPole,
    /// A marked group does not fit the supply and stays on the battery.
    GroupStaysOnBattery,
    /// A group draws more than its limit when transmitting.
    GroupOverLimit,
    /// The BMS would open when everything is transmitting.
    BoardOpensWhenKeyed,
    /// The disconnect opens and closes within few hours.
    DisconnectCycles,
    /// The disconnect opens below a device's window, so the device quits first.
    DeviceQuitsFirst,
    /// Something is named that nothing uses.
    Unused,
    /// A number of importance is a guess.
    Guess,
    /// The battery's capacity is the rated one.
    Nameplate,
    /// The warning service is not trusted to warn in `run`.
    WarningNotCounted,
    /// Anything else, explained by its text.
    Note,
}

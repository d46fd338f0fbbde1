//! The one table of cautions: what makes a figure less trustworthy, and what to do about it.
//!
//! A questionable figure is reported with its caution, never dropped and never passed off as sound.

use schemars::JsonSchema;
use serde::Serialize;

macro_rules! cautions {
    ($($name:ident = $id:literal, $meaning:literal, $advice:literal;)+) => {
        /// The kind of a caution.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, JsonSchema)]
        pub enum CautionId {
            $(#[doc = $meaning] #[serde(rename = $id)] $name,)+
        }

        impl CautionId {
            /// All of them, in the order of reports.
            pub const ALL: &'static [Self] = &[$(Self::$name,)+];

            /// The identifier used in results.
            #[must_use]
            pub const fn id(self) -> &'static str {
                match self { $(Self::$name => $id,)+ }
            }

            /// What it means, in a sentence.
            #[must_use]
            pub const fn meaning(self) -> &'static str {
                match self { $(Self::$name => $meaning,)+ }
            }

            /// What to do about it, in a sentence.
            #[must_use]
            pub const fn advice(self) -> &'static str {
                match self { $(Self::$name => $advice,)+ }
            }
        }
    };
}

cautions! {
    LimitsAssumed = "limits-assumed", "Values were written without limits; half a unit of the last digit was assumed.", "Write what you know of each, for instance \"18 °C ± 0.5\".";
    SettingAssumed = "setting-assumed", "A setting was not stated and was assumed.", "Read the setting off the instrument and write it in the session.";
    ReflectedAssumed = "reflected-assumed", "The reflected temperature was not stated; from 5 K below to 15 K above the ambient was assumed.", "Put crumpled foil beside the tank and mark it as a reflector, or state `reflected`.";
    BarometerAssumed = "barometer-assumed", "The barometric pressure was not stated; 1013.25 ± 30 hPa was assumed.", "Write down the station pressure, not the sea-level figure of the forecast.";
    AccuracyAssumed = "accuracy-assumed", "An instrument's accuracy was not stated: 2 °C or 2 % was assumed of a thermal one, 2.5 K of a contact probe, none of a gauge.", "Copy the accuracy from the instrument's data sheet.";
    LowEmissivity = "low-emissivity", "The surface mirrors more than it radiates.", "Put matt tape or matt paint on the spot that is measured.";
    NotMeasurable = "not-measurable", "The reading says too little about the surface to be used.", "Bare metal cannot be read like this: put matt tape on it.";
    NearReflected = "near-reflected", "The surface is hardly warmer than what it mirrors.", "Measure under load, with the tank well above its surroundings.";
    SmallRegion = "small-region", "The region has fewer than 9 valid pixels or is narrower than 3.", "Draw it larger, or go closer with the instrument.";
    CutByEdge = "cut-by-edge", "A part of the region lies outside the picture.", "Check the coordinates, or take the picture with the whole tank in it.";
    MixedEdge = "mixed-edge", "The region's rim differs from its inside: it probably overlaps the background.", "Draw it a few pixels inside the tank's outline.";
    Clipped = "clipped", "Pixels lie at the end of the instrument's range: the region has a bound, not a value.", "Take the picture again in a wider range.";
    OffBar = "off-bar", "Pixels have colours that the colour bar does not hold; they were left out.", "Keep marks, text and logos out of the region.";
    AmbiguousColour = "ambiguous-colour", "Colours that stand for two temperatures; where their surroundings do not decide, they were left out.", "Use a palette that does not come back to its own colours.";
    FewColours = "few-colours", "The colour bar has few steps.", "Use a longer bar, or store temperatures instead of colours.";
    FirstPage = "first-page", "The file holds several pictures; the first was read.", "Write `page = N` on the snapshot.";
    PistolOverfills = "pistol-overfills", "The spot that the pistol measures is larger than the target, or over half of it.", "Go closer: the spot should be at most half as wide as the target.";
    SteepView = "steep-view", "The surface was seen at a steep angle, where emissivity falls.", "Stand square to the tank.";
    UnsteadySkin = "unsteady-skin", "The hold was too short for the skin to settle, or that it was long enough is not known.", "Hold the load longer, or take several readings in one hold.";
    HoldUnknown = "hold-unknown", "Whether the skin had settled is not known, because the length of the hold or a property of the wall is not stated.", "Write `hold` on the run, and what the message says is missing.";
    HotterThanCharge = "hotter-than-charge", "A skin, or the charge air inferred, is hotter than the compressor can make it.", "Check the emissivity and the region.";
    ColderThanCompressed = "colder-than-compressed", "The charge air at the inlet is colder than compression alone makes it; usually the skin lags.", "Hold the load longer; check the emissivity and the region.";
    OutletHotter = "outlet-hotter", "The outlet reads hotter than the inlet.", "Check that the regions are not swapped, the emissivities, and what a bare tank mirrors.";
    BeyondAmbient = "beyond-ambient", "A tank reads colder than the cooling air.", "Check the emissivity, the reflected temperature and the cooling air's temperature.";
    PressureGain = "pressure-gain", "The pressure at the outlet is higher than at the inlet.", "Check the taps, the hoses and whether the two notes were swapped.";
    SensorDisagrees = "sensor-disagrees", "The intake-air sensor does not agree with the outlet.", "Consider where the sensor sits, what warms it and how fast it follows.";
    SkinsDiffer = "skins-differ", "The coolers' tanks differ in surface or wall, so their skins do not compare.", "Go by the effectiveness and the like-for-like outlet.";
    UnequalConditions = "unequal-conditions", "The coolers were not measured under like conditions.", "Go by the like-for-like figures, or repeat under the same conditions.";
    OtherChange = "other-change", "Something else was changed at the same time: the comparison is of both.", "Repeat with the cooler as the only change.";
    FewRuns = "few-runs", "The runs were not repeated, so the scatter between holds is not known.", "Repeat each hold, or state `[repeatability]`.";
}

/// A caution at a place, as the results list it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Caution {
    /// Its kind.
    pub id: CautionId,
    /// What it concerns: a run and region, a cooler, or the session.
    #[serde(rename = "where")]
    pub place: String,
    /// What is the matter here, with figures.
    pub message: String,
    /// What to do.
    pub advice: String,
}

impl Caution {
    /// A caution with the table's own advice.
    #[must_use]
    pub fn new(id: CautionId, place: impl Into<String>, message: impl Into<String>) -> Self {
        Self {
            id,
            place: place.into(),
            message: message.into(),
            advice: id.advice().to_owned(),
        }
    }
}

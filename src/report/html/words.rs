//! The fixed paragraphs of the report: how it was measured, and how to measure without getting hurt.

/// How the figures came about, a paragraph each.
pub const METHOD: [&str; 4] = [
    "The temperature that a thermal camera or an infrared pistol shows holds for a surface of the emissivity it is set to. \
     Here that setting is undone first; what is left is the apparent temperature (ISO 10878, ISO 18434-1).",
    "Then the radiation that the skin mirrors from its surroundings (the reflected apparent temperature, measured as in \
     ISO 18434-1 and ASTM E1862) and that of the air path are taken off, and the rest is divided by the emissivity of the \
     surface. Where the session measures an emissivity, the ways are those of ASTM E1933. The sums are done with the \
     radiation in the instrument's band, not with temperatures: a region's mean is the mean of its radiation.",
    "Each quantity is worked out for every run, and a cooler's is the mean over its runs. Differences are candidate less \
     baseline. Like-for-like figures are the outlet at the baseline's inlet and cooling-air temperatures.",
    "The skin is not the charge air: every wall lags behind the air in a short hold, and plastic insulates. \
     Skins of different walls do not compare directly.",
];

/// What to mind when measuring, an item each. General workshop practice, no single source.
pub const SAFETY: [&str; 6] = [
    "Tanks, pipes and the exhaust are hot enough to burn. Measure from a distance; let parts cool before touching or \
     putting tape on them.",
    "Pressure taps and hoses must be rated for the charge-air temperature and pressure, and be leak-tested before the \
     first run under load.",
    "Stand aside from charge hoses under pressure, and never in line with the rollers.",
    "Run the engine only with exhaust-gas extraction and with cooling air for car and people.",
    "Strap the vehicle down and keep people out of the test area while the rollers turn.",
    "Follow the instructions of the equipment's makers, the local rules, and licensed practice.",
];

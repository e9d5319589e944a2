//! The spellings of every field, by the kind of table in which they mean it.
//!
//! Common practice, no source. A word may be shortened to three letters or more (`temp`, `baro`, `press`); order of
//! words and small slips are forgiven by the score in `columns.rs`, so only truly different spellings stand here.

use super::field::Field;
use airshelf_catalog::{PartDimension as D, PartKind};

/// Runs and lists of winners.
pub(crate) const RUNS: &[(Field, &[&str])] = &[
    (Field::Session, &["session", "evening", "night", "page", "sitting", "series", "set name", "session name", "test session", "block"]),
    (Field::Date, &["date", "day", "test date", "on", "when", "run date", "tested"]),
    (Field::Bench, &["bench", "flow bench", "bench name", "rig", "machine"]),
    (Field::Range, &["range", "bench range", "full scale", "scale", "range in use", "meter range", "fs"]),
    (Field::Item, &["item", "carburetor", "carburettor", "carb", "on bench", "on the bench", "test item", "throttle body", "unit under test"]),
    (Field::Purpose, &["purpose", "type", "what", "kind", "run type", "test type", "kind of run", "reason", "why", "run kind", "what was run", "mode", "measurement"]),
    (Field::Order, &["order", "#", "no", "nr", "number", "run", "run no", "run number", "run #", "test no", "test number", "test #", "seq", "sequence", "line", "n", "id", "pull", "pull no", "position"]),
    (Field::Clock, &["clock", "time", "clock time", "at", "hour", "time of day", "started"]),
    (Field::Base, &["base", "bottom", "pan", "base plate", "baseplate", "base pan", "lower", "drop base", "tray", "under", "bottom plate", "base used"]),
    (Field::Spacer, &["spacer", "spacer ring", "riser", "ring", "spacer used"]),
    (Field::Filter, &["filter", "air filter", "element", "cleaner", "air cleaner", "filter element", "media", "filter used", "cartridge"]),
    (Field::Lid, &["lid", "top", "cover", "cap", "top plate", "upper", "lid used", "hat"]),
    (Field::VelocityStack, &["velocity stack", "vel stack", "horn", "trumpet", "radius", "entry", "bellmouth", "air horn"]),
    (Field::Stud, &["stud", "center stud", "bolt", "stud used"]),
    (Field::Assembly, &["assembly", "stack", "combination", "combo", "setup", "set up", "build", "parts", "configuration", "config", "what was on", "stack up", "filter lid base", "on it"]),
    (Field::Restraint, &["restraint", "held", "how held", "fixing", "fastening", "fastened", "held by", "hold", "clamped", "clamp", "secured", "held down", "how fastened", "attachment", "held how", "fixed", "held with"]),
    (Field::Service, &["service", "state", "condition", "service state", "filter state", "element state", "element was", "filter condition", "element condition", "filter was", "cleanliness", "oil", "element is", "media state"]),
    (Field::Direction, &["direction", "way", "flow direction", "air direction", "sense", "dir", "blow or suck"]),
    (Field::Refit, &["refit", "refitted", "taken off", "new fitting", "reassembled"]),
    (Field::SetPressure, &["set pressure", "set", "test pressure", "set point", "setpoint", "target pressure", "target", "pressure set", "depression", "test depression", "nominal pressure", "nominal", "pressure wanted", "set depression", "depression set", "pressure", "water", "pressure drop", "vacuum", "dp", "delta p", "test vacuum", "asked for"]),
    (Field::ActualPressure, &["actual pressure", "actual", "pressure held", "held at", "held pressure", "measured pressure", "pressure read", "actual depression", "pressure actual", "depression held", "read pressure", "pressure at reading", "manometer", "held", "water held", "true pressure", "depression read", "water", "pressure", "depression", "gauge", "gauge read"]),
    (Field::Flow, &["flow", "flow as read", "as read", "flow read", "reading", "read", "airflow", "air flow", "measured flow", "indicated", "indicated flow", "raw flow", "flow rate", "observed flow", "observed", "meter", "meter reading", "flow measured", "volume flow", "q"]),
    (Field::AirTemperature, &["air temperature", "air", "temperature", "t", "room", "room temperature", "ambient", "ambient temperature", "air t", "inlet temperature", "room air", "shop temperature", "intake air"]),
    (Field::MeterTemperature, &["meter temperature", "meter air", "temperature at meter", "meter air temperature", "t meter", "orifice temperature", "bench temperature"]),
    (Field::Barometer, &["barometer", "baro", "barometric pressure", "station pressure", "atmospheric pressure", "air pressure", "glass", "ambient pressure", "atm", "atmosphere", "pressure of the day"]),
    (Field::Humidity, &["humidity", "rh", "relative humidity", "hum", "moisture", "rh %", "damp"]),
    (Field::Note, &["note", "notes", "remark", "remarks", "comment", "comments", "said", "observations", "memo", "text", "scribbles"]),
    (Field::Photo, &["photo", "picture", "image", "photo file", "snapshot"]),
    (Field::StatedBaseline, &["stated baseline", "baseline", "baseline used", "bare", "bare flow", "baseline flow", "reference flow", "against", "baseline stated", "zero flow"]),
    (Field::StatedLoss, &["stated loss", "loss", "lost", "down", "down by", "drop", "flow loss", "loss against baseline", "cost", "costs", "difference", "delta", "loss of flow", "change", "under baseline", "below baseline", "less", "down from baseline", "flow lost", "loss vs baseline"]),
    (Field::StatedLossPercent, &["loss percent", "percent loss", "loss %", "percent", "% loss", "down %", "percent down", "loss", "down", "% down", "lost", "drop", "pct loss", "change", "loss in percent", "difference", "% of baseline lost"]),
    (Field::Leakage, &["leakage", "leak", "fixture leakage", "fixture leak", "leakage taken off", "less leakage", "leak taken off", "leakage off", "leakage used", "leak off", "leakage subtracted", "leak subtracted", "tare"]),
    (Field::NetFlow, &["net flow", "net", "flow net", "less leakage flow", "flow less leakage", "flow minus leakage", "after leakage", "net of leakage", "net of leak"]),
    (Field::FlowAtSetPressure, &["flow at set pressure", "net at set pressure", "at set pressure", "corrected", "corrected flow", "flow corrected", "pressure corrected", "corrected to set pressure", "flow at test pressure", "at set", "scaled flow", "flow scaled", "flow at set", "pressure corrected flow", "corrected for pressure"]),
    (Field::FlowAtReferenceAir, &["flow at reference air", "at reference air", "reference air flow", "standard flow", "flow at standard air", "density corrected", "air corrected", "corrected to standard air", "standard air", "at standard air", "flow standard", "air corrected flow", "density corrected flow", "corrected for air"]),
    (Field::AirFactor, &["air factor", "density factor", "correction factor", "factor", "air correction", "density correction"]),
    (Field::Place, &["place", "rank", "standing", "placed", "ranking", "pos", "finish"]),
    (Field::Readings, &["readings", "number of readings", "readings taken", "pulls", "repeats", "count", "times read", "no of readings", "samples", "reads", "times"]),
    (Field::BaselineSession, &["baseline session", "baseline from", "baseline of", "baseline evening", "against session", "baseline taken from"]),
    (Field::Size, &["size", "filter size", "element size", "dimensions", "size od x height", "size od x high", "od x height", "od x high"]),
];

/// Parts.
pub(crate) const PARTS: &[(Field, &[&str])] = &[
    (Field::Tag, &["tag", "part", "part no", "part number", "no", "#", "label", "id tag", "tag no", "mark", "code", "number", "shelf tag", "ref"]),
    (Field::Kind, &["kind", "type", "part type", "category", "sort", "what kind", "class", "part kind"]),
    (Field::Name, &["name", "what it is", "description", "what", "part name", "called", "title", "item", "thing", "known as"]),
    (Field::Maker, &["maker", "make", "brand", "manufacturer", "made by", "from", "seller", "supplier"]),
    (Field::Price, &["price", "cost", "paid", "price paid", "money", "bought for", "asking", "amount paid"]),
    (Field::Arrived, &["arrived", "arrival", "date arrived", "received", "in since", "bought", "date", "came", "came in", "on shelf since", "got", "delivered", "got on"]),
    (Field::Filtration, &["filtration", "filtration claim", "efficiency", "filtering", "claim", "filtration efficiency", "dust"]),
    (Field::Service, &["service", "state", "condition", "service state", "filter state", "element state"]),
    (Field::Note, &["note", "notes", "remark", "remarks", "comment", "comments", "memo"]),
    (Field::Revision, &["revision", "rev", "version", "revision label"]),
    (Field::Revised, &["revised", "revision date", "changed", "modified", "date revised", "reworked"]),
    (Field::Status, &["status", "owned", "whose", "have"]),
    (Field::Place, &["place", "where", "location", "shelf", "bin", "box", "drawer", "stored", "kept"]),
    (Field::Source, &["source", "dimension source", "measured by", "measured with", "how measured", "measured how"]),
    (Field::Photo, &["photo", "picture", "image", "photo file"]),
    (Field::Size, &["size", "dimensions", "size od x height", "size od x high", "od x height", "od x high", "overall size"]),
    (Field::Of(D::OutsideDiameter), &["od", "outside diameter", "outer diameter", "diameter", "outside", "dia", "across", "outer", "width", "o d"]),
    (Field::Of(D::InsideDiameter), &["id", "inside diameter", "inner diameter", "inside", "hole", "inner", "i d", "bore inside"]),
    (Field::Of(D::Height), &["height", "high", "overall height", "tall", "h", "thickness", "thick", "total height", "ht"]),
    (Field::Of(D::PleatCount), &["pleat count", "pleats", "no of pleats", "number of pleats", "folds", "pleat number"]),
    (Field::Of(D::PleatDepth), &["pleat depth", "deep", "depth", "depth of pleat", "pleats deep", "fold depth", "pleat deep"]),
    (Field::Of(D::PleatFreeHeight), &["pleat free height", "free high", "free height", "open height", "pleat height", "media height", "height between seals", "clear height", "free pleat height", "exposed height", "pleats free"]),
    (Field::Of(D::NeckBore), &["neck bore", "neck", "bore", "neck diameter", "neck hole", "carb hole", "carb opening", "opening", "neck id", "throat", "neck size"]),
    (Field::Of(D::Drop), &["drop", "base drop", "dropped", "drop depth", "drops"]),
    (Field::Of(D::StudLength), &["stud length", "stud", "length", "long", "length of stud"]),
    (Field::Of(D::Register), &["register", "flange", "register diameter", "flange diameter", "carb flange", "air horn od", "carb register"]),
    (Field::Of(D::MediaArea), &["media area", "media", "area", "filter area", "paper area", "media surface", "surface"]),
    (Field::Of(D::Mass), &["mass", "weight", "weighs", "wt"]),
];

/// Guesses before a test.
pub(crate) const GUESSES: &[(Field, &[&str])] = &[
    (Field::Who, &["who", "name", "person", "by", "guesser", "predictor", "whose guess", "guessed by", "predicted by", "from"]),
    (Field::Assembly, &["assembly", "stack", "combination", "combo", "setup", "build", "what"]),
    (Field::Guess, &["guess", "prediction", "predicted", "guessed", "expected", "estimate", "flow", "predicted flow", "guessed loss", "guess loss", "predicted loss", "loss", "bet", "guessed flow", "expects", "call"]),
    (Field::Place, &["place", "rank", "guessed place", "position", "predicted place"]),
    (Field::Low, &["low", "lowest", "min", "minimum", "from", "at least", "low end", "lower", "no less than"]),
    (Field::High, &["high", "highest", "max", "maximum", "to", "at most", "high end", "upper", "no more than"]),
    (Field::Written, &["written", "written on", "date", "when", "date written", "time", "written at", "written down", "put down", "sealed", "signed"]),
    (Field::Session, &["session", "evening", "for", "for session", "guess for"]),
    (Field::Base, &["base", "bottom", "pan", "base plate"]),
    (Field::Spacer, &["spacer", "riser"]),
    (Field::Filter, &["filter", "air filter", "element", "cleaner", "air cleaner"]),
    (Field::Lid, &["lid", "top", "cover"]),
    (Field::VelocityStack, &["velocity stack", "horn", "trumpet"]),
    (Field::Note, &["note", "notes", "remark", "remarks", "comment", "comments"]),
];

/// Rated flows.
pub(crate) const RATINGS: &[(Field, &[&str])] = &[
    (Field::Item, &["item", "carb", "carburetor", "carburettor", "name", "which", "what", "model", "throttle body"]),
    (Field::Flow, &["flow", "rated", "rated flow", "rating", "claimed flow", "advertised flow", "claimed", "advertised", "flow rating"]),
    (Field::RatedAt, &["rated at", "at", "pressure", "rating pressure", "test pressure", "rated pressure", "depression", "drop", "pressure drop", "measured at", "vacuum"]),
    (Field::Place, &["place", "rank", "standing", "position"]),
    (Field::AgainstFirst, &["against the first", "against first", "difference", "over the first", "more than the first", "gain", "vs first", "above the first", "to the first", "behind the first", "from the first"]),
    (Field::Note, &["note", "notes", "remark", "remarks", "comment", "comments"]),
];

/// Words for kinds of parts within a longer header.
pub(crate) const KIND_WORDS: &[(PartKind, &[&str])] = &[
    (PartKind::Filter, &["filter", "element", "cleaner", "cartridge"]),
    (PartKind::Lid, &["lid", "top", "cover"]),
    (PartKind::Base, &["base", "pan", "bottom"]),
    (PartKind::Spacer, &["spacer", "riser", "ring"]),
    (PartKind::VelocityStack, &["stack", "horn", "trumpet"]),
    (PartKind::Stud, &["stud", "bolt"]),
];

/// Words for dimensions within a longer header.
pub(crate) const DIMENSION_WORDS: &[(D, &[&str])] = &[
    (D::PleatFreeHeight, &["free"]),
    (D::PleatDepth, &["depth", "deep"]),
    (D::Height, &["height", "high", "tall", "thickness", "thick"]),
    (D::OutsideDiameter, &["od", "diameter", "dia", "outside"]),
    (D::InsideDiameter, &["id", "inside"]),
    (D::StudLength, &["length", "long"]),
    (D::NeckBore, &["bore", "neck"]),
    (D::Drop, &["drop"]),
];

/// Words that say nothing about a field.
pub(crate) const FILLERS: &[&str] = &["the", "of", "a", "an", "value", "in", "our", "and", "is"];

//! The closed lists of the trade: each value has a code for the file and a name for people.
//!
//! A code is never reused. A code that this program does not know is parked by the store and forwarded.

use crate::value::{Held, Value, ValueError, ValueRef};

macro_rules! one_of {
    ($(#[$meta:meta])* $name:ident { $( $(#[$vmeta:meta])* $code:literal $variant:ident $text:literal, )+ }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize, ts_rs::TS)]
        pub enum $name { $( $(#[$vmeta])* #[serde(rename = $text)] $variant, )+ }

        impl $name {
            /// Codes and names, in the order of the codes.
            pub const CODES: &'static [(i64, &'static str)] = &[ $( ($code, $text), )+ ];
            /// Every value.
            pub const ALL: &'static [$name] = &[ $( $name::$variant, )+ ];
            /// The code that stands for the value in files.
            pub fn code(self) -> i64 { match self { $( $name::$variant => $code, )+ } }
            /// The value of a code, if this program knows it.
            pub fn from_code(code: i64) -> Option<Self> { match code { $( $code => Some($name::$variant), )+ _ => None } }
            /// The plain name, as canonical sheets and JSON write it.
            pub fn name(self) -> &'static str { match self { $( $name::$variant => $text, )+ } }
            /// The value of a plain name.
            pub fn from_name(name: &str) -> Option<Self> { match name { $( $text => Some($name::$variant), )+ _ => None } }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { f.write_str(self.name()) }
        }

        impl Held for Option<$name> {
            fn hold(&self) -> ValueRef<'_> { self.map_or(ValueRef::Null, |v| ValueRef::Int(v.code())) }
            fn take(value: Value, field: &'static str) -> Result<Self, ValueError> {
                match value {
                    Value::Null => Ok(None),
                    Value::Int(code) => $name::from_code(code).map(Some).ok_or(ValueError::UnknownCode { field, code }),
                    _ => Err(ValueError::WrongKind { field }),
                }
            }
        }
    };
}

one_of! {
    /// What a part is.
    PartKind {
        /// The element that catches dust.
        1 Filter "filter",
        /// The cover over the element.
        2 Lid "lid",
        /// The pan that sits on the carburetor.
        3 Base "base",
        /// A ring between carburetor and base.
        4 Spacer "spacer",
        /// A horn or radius at the entry.
        5 VelocityStack "velocity stack",
        /// The stud that holds the lid.
        6 Stud "stud",
        /// What stands on the bench: a carburetor or another flowed item.
        7 Carburetor "carburetor",
        /// Anything else.
        8 Other "other",
    }
}
one_of! {
    /// Whose the part is.
    PartStatus {
        /// Seen, not bought.
        1 Wanted "wanted",
        /// On the shelf.
        2 Owned "owned",
        /// With somebody else.
        3 Lent "lent",
        /// Gone to somebody else.
        4 Sold "sold",
        /// Binned.
        5 Scrapped "scrapped",
    }
}
one_of! {
    /// A measurable dimension of a part.
    PartDimension {
        /// Outside diameter.
        1 OutsideDiameter "OD",
        /// Inside diameter.
        2 InsideDiameter "ID",
        /// Overall height.
        3 Height "height",
        /// Number of pleats.
        4 PleatCount "pleat count",
        /// Radial depth of a pleat.
        5 PleatDepth "pleat depth",
        /// Height of the pleats between the end seals.
        6 PleatFreeHeight "pleat free height",
        /// Bore of the neck.
        7 NeckBore "neck bore",
        /// How far a base drops below the neck.
        8 Drop "drop",
        /// Length of a stud.
        9 StudLength "stud length",
        /// Diameter of the flange that a neck sits on.
        10 Register "register",
        /// Area of the media as stated.
        11 MediaArea "media area",
        /// Mass.
        12 Mass "mass",
    }
}
one_of! {
    /// Why a run was made.
    Purpose {
        /// The item without the parts under test.
        1 Baseline "baseline",
        /// An assembly under test.
        2 Test "test",
        /// One of several pressures of one assembly.
        3 Sweep "sweep",
        /// The blanked fixture.
        4 FixtureLeakage "fixture leakage",
        /// The item with its throttle closed; a condition of the item, never subtracted.
        5 ClosedThrottleLeakage "closed-throttle leakage",
        /// A plate of known flow.
        6 CheckPlate "check plate",
    }
}
one_of! {
    /// How the assembly was held during a run.
    Restraint {
        /// By its stud and nut.
        1 Fastened "fastened",
        /// With tape.
        2 Taped "taped",
        /// By hand.
        3 HandHeld "hand-held",
        /// By nothing.
        4 None "none",
        /// Something came off.
        5 Lost "lost",
    }
}
one_of! {
    /// The state of an element.
    Service {
        /// As bought.
        1 New "new",
        /// Oiled.
        2 Oiled "oiled",
        /// Used.
        3 Dirty "dirty",
        /// Washed.
        4 Washed "washed",
    }
}
one_of! {
    /// Which way the air went.
    Direction {
        /// Into the item.
        1 Intake "intake",
        /// Out of it.
        2 Exhaust "exhaust",
    }
}
one_of! {
    /// Whether an assembly was taken off and refitted before this run.
    Refit {
        /// Refitted: a repeat.
        1 Yes "yes",
        /// Still the fitting of the run before.
        2 No "no",
    }
}
one_of! {
    /// What a baseline consists of.
    BaselineKind {
        /// The item alone.
        1 Bare "bare",
        /// The item with the base that the run's assembly names.
        2 WithBase "with base",
        /// The record does not say.
        3 Unknown "unknown",
    }
}
one_of! {
    /// What a bench's meter measures.
    Meter {
        /// An orifice in the same air as the part.
        1 SameAirOrifice "orifice in the same air",
        /// Volume per time.
        2 Volumetric "volumetric",
        /// Mass per time.
        3 Mass "mass",
    }
}
one_of! {
    /// What happened to a part in use.
    ServiceKind {
        /// Cleaned.
        1 Washed "washed",
        /// Oiled again.
        2 Oiled "oiled",
        /// Put on a vehicle.
        3 Fitted "fitted",
        /// Taken off.
        4 Removed "removed",
        /// Driven.
        5 Run "run",
        /// Damaged.
        6 Damaged "damaged",
    }
}
one_of! {
    /// What was decided.
    DecisionKind {
        /// Kept.
        1 Keep "keep",
        /// Thrown away.
        2 Bin "bin",
        /// Fitted to a vehicle.
        3 Fit "fit",
        /// To be bought.
        4 Buy "buy",
        /// A fault of the audit that a person looked at and lets stand.
        5 LetStand "let stand",
        /// A fault of the audit whose repair a person accepted.
        6 Repaired "repaired",
        /// Two names that mean one part.
        7 SamePart "same part",
    }
}
one_of! {
    /// What a photo shows.
    PhotoRole {
        /// The face.
        1 Face "face",
        /// The underside.
        2 Underside "underside",
        /// The neck.
        3 Neck "neck",
        /// The pleats.
        4 Pleats "pleats",
        /// The label.
        5 Label "label",
        /// Damage.
        6 Damage "damage",
        /// The assembly as it was tested.
        7 AsTested "as tested",
        /// A page of old records.
        8 Page "page",
    }
}
one_of! {
    /// What a table of an old record holds.
    TableKind {
        /// Runs, one a row.
        1 Runs "runs",
        /// Parts, one a row.
        2 Parts "parts",
        /// Losses, lids down and filters across.
        3 Matrix "matrix",
        /// A list from best to worst.
        4 Winners "winners",
        /// Guesses before a test.
        5 Predictions "predictions",
        /// Rated flows of carburetors.
        6 Ratings "ratings",
    }
}

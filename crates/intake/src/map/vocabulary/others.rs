//! What tables of guesses and of rated flows call their columns, and words that only a unit makes clear.

use crate::map::Field;

/// Guesses before a test.
pub(crate) const GUESSES: &[(Field, &str)] = &[
    (
        Field::Who,
        "who; name; person; by; guesser; bettor; whose; predictor; whose guess; guessed by; predicted by; \
         from; who bets; who guessed; who said; better; bettor name; guess by; bet by; said by; player; \
         wer; name of guesser; qui; quién; quien; punter; hand; initials; signed by; tipster; tipped by; hand of; whose bet; whose tip; in the hand of",
    ),
    (
        Field::Assembly,
        "assembly; stack; combination; combo; setup; build; what; what was on; parts; configuration; \
         config; on what; aufbau; ensemble; conjunto; bet on; guess on",
    ),
    (
        Field::Guess,
        "guess; prediction; predicted; guessed; expected; estimate; flow; predicted flow; guessed loss; \
         guess loss; predicted loss; loss; bet; guessed flow; expects; call; cfm lost; loss cfm; lost; \
         loss guessed; expected loss; predicted cfm; guess cfm; says; tipp; tip; schätzung; schätzt; \
         estimation; pari; apuesta; estimación; forecast; thinks; thought; bets; number; figure; believes; i \
         say; my guess; says lost; says loss; bet lost; reckons; reckoned; will lose; will flow; would lose",
    ),
    (Field::Place, "place; rank; guessed place; position; predicted place"),
    (
        Field::Low,
        "low; lowest; min; minimum; from; at least; low end; lower; no less than; lo; not below; no lower \
         than; no less; between; lower limit; lower bound; mindestens; von; unten; au moins; de; mínimo; \
         desde; smallest; down to; worst low; bottom end; not under; not less; not lower; no under; floor; over; \
         above; more than; sure above",
    ),
    (
        Field::High,
        "high; highest; max; maximum; to; at most; high end; upper; no more than; hi; not above; no \
         higher than; no more; and; upper limit; upper bound; höchstens; bis; oben; au plus; à; máximo; \
         hasta; largest; up to; top end; not over; not more; not higher; no over; ceiling; under; below; less \
         than; sure below",
    ),
    (
        Field::Written,
        "written; written on; date; when; date written; time; written at; written down; put down; sealed; \
         signed; date of guess; guessed on; bet on; bet at; noted; noted at; made; made at; given; handed \
         in; time written; when written; geschrieben; geschrieben am; écrit; écrit le; escrito; entered; \
         put in; sealed at; in the jar; stamped; put in the jar; in the jar since; in the box; handed over; \
         posted; jotted; jotted down; put on paper",
    ),
    (Field::Session, "session; evening; for; for session; guess for"),
    (
        Field::Base,
        "base; bottom; pan; base plate; lower; lower part; under; plate; bottom plate; floor; unterteil; \
         embase; boden; underneath",
    ),
    (Field::Spacer, "spacer; riser; ring; spacer ring; zwischenring; entretoise"),
    (
        Field::Filter,
        "filter; air filter; element; cleaner; air cleaner; filtre; filtro; luftfilter; filter element; \
         cartridge",
    ),
    (Field::Lid, "lid; top; cover; cap; on top; upper; upper part; deckel; couvercle; tapa"),
    (Field::VelocityStack, "velocity stack; horn; trumpet"),
    (Field::Note, "note; notes; remark; remarks; comment; comments"),
];

/// Rated flows.
pub(crate) const RATINGS: &[(Field, &str)] = &[
    (
        Field::Item,
        "item; carb; carburetor; carburettor; name; which; what; model; throttle body; carb model; \
         carburetor model; which carb; which one; type; kind; vergaser; carburateur; carburador; make; \
         description; barrels; two barrels and four; unit; what it is; carb name; body; carby; carbie; carbies; \
         carbs; carburetors; carburettors; throttle; mixer; thing; part",
    ),
    (
        Field::Flow,
        "flow; rated; rated flow; rating; claimed flow; advertised flow; claimed; advertised; flow \
         rating; cfm; cfm rating; flow cfm; rated cfm; rating cfm; book flow; book cfm; catalog flow; \
         listed flow; listed; stated flow; stated; maker says; sold as; on the box; published; published \
         flow; nominal flow; air flow; airflow; size; capacity; nenndurchfluss; durchfluss; débit; débit \
         nominal; caudal; caudal nominal; flows",
    ),
    (
        Field::RatedAt,
        "rated at; at; pressure; rating pressure; test pressure; rated pressure; depression; drop; \
         pressure drop; measured at; vacuum; at depression; at pressure; rated depression; test \
         depression; rating depression; test vacuum; test drop; at drop; measured under; at a drop of; at \
         vacuum; rating drop; rated drop; flowed at; tested at; taken at; drawn at; standard; basis; \
         rating basis; prüfdruck; bei; bei unterdruck; unterdruck; dépression; sous; à; depresión; a; \
         under; at what; at which pressure; at what depression; inches; mercury; at hg; hg",
    ),
    (
        Field::Place,
        "place; rank; standing; position; order; pos; placing; rang; platz; puesto; best on top; biggest \
         first; no; nr; #",
    ),
    (
        Field::AgainstFirst,
        "against the first; against first; difference; over the first; more than the first; gain; vs \
         first; above the first; to the first; behind the first; from the first; more than ours; more \
         than mine; more than this one; above ours; against ours; vs ours; versus ours; compared to ours; \
         compared to first; to ours; difference to first; difference to ours; less than first; below \
         first; gain over first; gain over ours; delta; plus; mehr als unserer; gegenüber dem ersten; \
         écart; diferencia; ahead; over ours; versus first; versus the first; up on first; advantage",
    ),
    (
        Field::Note,
        "note; notes; remark; remarks; comment; comments; rem; bemerkung; remarque; nota; words; source; \
         said",
    ),
];

/// Words that name a field only beside a unit of its dimension; they count for less than a field's own names.
pub(crate) const WITH_UNIT: &[(Field, &str)] = &[
    (
        Field::ActualPressure,
        "read; reading; measured; got; shown; seen; indicated; observed; as read; noted; true; real; \
         found; came; at reading",
    ),
    (Field::Flow, "measured; got; shown; seen; found; noted; moved; passed; pulled; total; bench"),
    (Field::SetPressure, "planned; intended; aiming; asked; goal; should be; at"),
    (Field::FlowAtSetPressure, "adjusted; converted; brought; calculated"),
    (Field::NetFlow, "left; remaining; rest; less leakage; after"),
];

//! What tables of guesses and of rated flows call their columns, and words that only a unit makes clear.

use crate::map::Field;
use airshelf_catalog::PartDimension as D;

/// Guesses before a test.
pub(crate) const GUESSES: &[(Field, &str)] = &[
    (
        Field::Who,
        "who; name; person; by; guesser; bettor; whose; predictor; whose guess; guessed by; predicted by; \
         from; who bets; who guessed; who said; better; bettor name; guess by; bet by; said by; player; \
         wer; name of guesser; qui; quién; quien; punter; hand; initials; signed by; tipster; tipped by; \
         hand of; whose bet; whose tip; in the hand of; mate; speaker; guess of; who tips; tips by; \
         caller; called by; friend; one who says; bettors; guessing",
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
         estimation; pari; apuesta; estimación; forecast; thinks; thought; bets; number; figure; \
         believes; i say; my guess; says lost; says loss; bet lost; reckons; reckoned; will lose; will \
         flow; would lose; hunch; will cost; middle; mid; best guess; bet is; tips; tip is; in the \
         middle; most likely; likely; wager; stake; feels like",
    ),
    (Field::Place, "place; rank; guessed place; position; predicted place"),
    (
        Field::Low,
        "low; lowest; min; minimum; from; at least; low end; lower; no less than; lo; not below; no lower \
         than; no less; between; lower limit; lower bound; mindestens; von; unten; au moins; de; mínimo; \
         desde; smallest; down to; worst low; bottom end; not under; not less; not lower; no under; \
         floor; over; above; more than; sure above; least; sure of; best case; low mark; low limit; low \
         guess",
    ),
    (
        Field::High,
        "high; highest; max; maximum; to; at most; high end; upper; no more than; hi; not above; no \
         higher than; no more; and; upper limit; upper bound; höchstens; bis; oben; au plus; à; máximo; \
         hasta; largest; up to; top end; not over; not more; not higher; no over; ceiling; under; below; \
         less than; sure below; most; worst case; high mark; high limit; high guess",
    ),
    (
        Field::Written,
        "written; written on; date; when; date written; time; written at; written down; put down; sealed; \
         signed; date of guess; guessed on; bet on; bet at; noted; noted at; made; made at; given; handed \
         in; time written; when written; geschrieben; geschrieben am; écrit; écrit le; escrito; entered; \
         put in; sealed at; in the jar; stamped; put in the jar; in the jar since; in the box; handed \
         over; posted; jotted; jotted down; put on paper; in the tin; said at; date and time; when said; \
         timestamp; lodged; set down; told; told on; said on; posted at; shut in; in the hat; date of \
         bet; bet made; penned; penciled; pencilled",
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
    (
        Field::Lid,
        "lid; top; cover; cap; roof; hat; bonnet; top plate; cover plate; faceplate; on top; upper; upper part; deckel; couvercle; tapa",
    ),
    (Field::VelocityStack, "velocity stack; horn; trumpet"),
    (Field::Note, "note; notes; remark; remarks; comment; comments"),
];

/// Rated flows.
pub(crate) const RATINGS: &[(Field, &str)] = &[
    (
        Field::Item,
        "item; carb; carburetor; carburettor; name; which; what; model; throttle body; carb model; \
         carburetor model; which carb; which one; type; kind; vergaser; carburateur; carburador; make; \
         description; barrels; two barrels and four; unit; what it is; carb name; body; carby; carbie; \
         carbies; carbs; carburetors; carburettors; throttle; mixer; thing; part; kind of carb; body \
         type; which body; which of them; candidates; candidate",
    ),
    (
        Field::Flow,
        "flow; rated; rated flow; rating; claimed flow; advertised flow; claimed; advertised; flow \
         rating; cfm; cfm rating; flow cfm; rated cfm; rating cfm; book flow; book cfm; catalog flow; \
         listed flow; listed; stated flow; stated; maker says; sold as; on the box; published; published \
         flow; nominal flow; air flow; airflow; size; capacity; nenndurchfluss; durchfluss; débit; débit \
         nominal; caudal; caudal nominal; flows; catalog; catalogue; catalogue flow; box says; on box; \
         book; makers; maker s; maker; makers flow; makers figure; maker figure; it says; says; said to \
         flow; said to be; printed; stamped; stamped on it; label says; brochure",
    ),
    (
        Field::RatedAt,
        "rated at; at; pressure; rating pressure; test pressure; rated pressure; depression; drop; \
         pressure drop; measured at; vacuum; at depression; at pressure; rated depression; test \
         depression; rating depression; test vacuum; test drop; at drop; measured under; at a drop of; at \
         vacuum; rating drop; rated drop; flowed at; tested at; taken at; drawn at; standard; basis; \
         rating basis; prüfdruck; bei; bei unterdruck; unterdruck; dépression; sous; à; depresión; a; \
         under; at what; at which pressure; at what depression; inches; mercury; at hg; hg; with; drawn; \
         suction; at suction; water; at water; at a pressure of; given at; rated with; rated under; pull; at a pull \
         of",
    ),
    (
        Field::Place,
        "place; rank; standing; position; order; pos; placing; rang; platz; puesto; best on top; biggest \
         first; no; nr; #; best; came; order of size; size order; biggest; came in",
    ),
    (
        Field::AgainstFirst,
        "against the first; against first; difference; over the first; more than the first; gain; vs \
         first; above the first; to the first; behind the first; from the first; more than ours; more \
         than mine; more than this one; above ours; against ours; vs ours; versus ours; compared to ours; \
         compared to first; to ours; difference to first; difference to ours; less than first; below \
         first; gain over first; gain over ours; delta; plus; mehr als unserer; gegenüber dem ersten; \
         écart; diferencia; ahead; over ours; versus first; versus the first; up on first; advantage; \
         than the first; up on ours; behind; better by; ahead by; more by; off the first; lead; lead over \
         first; margin; against the top; against top; than ours; over first; beyond first; compared; \
         beside the first; next to the first",
    ),
    (
        Field::Note,
        "note; notes; remark; remarks; comment; comments; rem; bemerkung; remarque; nota; words; source; \
         said",
    ),
];

/// Words that name a field only beside a unit of its dimension; they count for less than a field's own names.
pub(crate) const WITH_UNIT: &[(Field, &str)] = &[
    (Field::Of(D::OutsideDiameter), "out"),
    (Field::Of(D::InsideDiameter), "in"),
    (
        Field::ActualPressure,
        "read; reading; measured; got; shown; seen; indicated; observed; as read; noted; true; real; \
         found; came; at reading; reached; on the gauge; was; is; settled; settled at; achieved; stood; stood at; hit; ran; ran at; water read; stands at; sat at; gauge stood at; in the tube",
    ),
    (
        Field::Flow,
        "measured; got; shown; seen; found; noted; moved; passed; pulled; total; bench; found to be; output; as found; made; gave; gives; took; takes in",
    ),
    (
        Field::FlowPercent,
        "flow; flow read; flow as read; flow reading; as read; reading; read; indicated; indicated flow; meter; meter \
         reading; airflow; air flow; measured flow; raw; raw flow; deflection; durchfluss; débit; caudal",
    ),
    (
        Field::SetPressure,
        "planned; intended; aiming; asked; goal; should be; at; dialed; dialled; dialed in; ordered; meant; called for; supposed to be; to be; hoped; hoped for; for; agreed; usual",
    ),
    (Field::FlowAtSetPressure, "adjusted; converted; brought; calculated"),
    (Field::NetFlow, "left; remaining; rest; less leakage; after"),
    (
        Field::Range,
        "meter top; top of meter; max reading; bench max; up to; ceiling; fsd; limit; goes to; bench tops \
         out at; tops out at; meter full scale; of; out of a",
    ),
    (Field::AirTemperature, "inlet; garage; barn; outside; shed; workshop; air was; cellar; warm; air deg"),
    (Field::Barometer, "the day; day; weather; pa of the day; qnh station; outside"),
    (
        Field::StatedBaseline,
        "nothing on; from; before; open; start; datum; control; benchmark; alone; without; carb by \
         itself; nothing fitted; empty; starting from; measured against; taken against; yardstick",
    ),
    (
        Field::StatedLoss,
        "off; taken by it; hurt; eats; eaten; price; behind; takes; it takes; choke; choked; robbed; robs; \
         stolen; steals; took; taken; set back; setback; toll; hit; pinch; throttled by",
    ),
    (
        Field::Leakage,
        "blanked; seep; escaping; seepage; leakage allowed; drips; air leak; leaks by; lost at joints; \
         joints",
    ),
    (
        Field::NetFlow,
        "true; clean; flow proper; proper; proper flow; honest; honest flow; what is left; left over; \
         rest",
    ),
    (
        Field::FlowAtSetPressure,
        "flow put right; put right; squared up; made good; made good to set; full depression; evened out; \
         as at set; at set water; for set pressure; levelled to set; rescaled",
    ),
    (
        Field::FlowAtReferenceAir,
        "normal air; dry day; weathered; good day; book air; at book air; standard weather",
    ),
];

//! What people write before a value: `Test pressure`, `Room`, `Glass`.

use crate::map::likeness::score;
use crate::map::vocabulary::{Vocabulary, vocabulary};
use crate::map::{Field, Header};
use std::sync::LazyLock;

/// Labels of what a page holds, as a vocabulary has them.
static LABELS: LazyLock<Vocabulary> = LazyLock::new(|| {
    vocabulary(&[
        (
            Field::Date,
            "date; day; tested; tested on; evening of; when; date of test; test date; night of; datum; \
             tag; fecha; jour; dated; run on",
        ),
        (
            Field::Session,
            "session; evening; page; session name; night; night no; evening no; sheet; leaf; session no; \
             sitzung; séance; sesión; abend",
        ),
        (
            Field::Who,
            "operator; by; who; measured by; tester; run by; person; at the bench; operators; crew; done \
             by; prüfer; opérateur; operador; at the stick; written by; present; we were; hands",
        ),
        (Field::Bench, "bench; flow bench; rig; test bench; prüfstand; banc; banco; bench used"),
        (
            Field::Range,
            "range; bench range; full scale; range in use; meter range; scale; scale used; range used; \
             range set; bench scale; meter scale; range of bench; messbereich; bereich; plage; rango; \
             escala; full range; range limit",
        ),
        (
            Field::SetPressure,
            "test pressure; set pressure; pressure; depression; test depression; water; tested at; set; \
             vacuum; pressure drop; test vacuum; all at; drawn at; pull; underpressure; suction; drawn; \
             set to; set at; depression held; vacuum held; held at; at depression; water column; test \
             water; prüfdruck; unterdruck; druck; solldruck; dépression; pression; depresión; presión; \
             vacuum set; draw; test drop; set depression; depression set; pressure held; pressure set; \
             pull of; pulled at; test suction",
        ),
        (
            Field::AirTemperature,
            "air; temperature; air temperature; room; room temperature; inlet air; air temp; room temp; \
             temp; shop temperature; shop temp; shop air; temperature of air; lufttemperatur; luft; \
             temperatur; température; température air; temperatura; aire; shop; inlet temperature; \
             thermometer; temp of air",
        ),
        (
            Field::Barometer,
            "barometer; baro; barometric pressure; station pressure; atmospheric pressure; air pressure; \
             glass; pressure of the air; bp; barom; station baro; station barometer; air pressure \
             station; luftdruck; baromètre; pression atmosphérique; pression atm; barómetro; presión \
             atmosférica; weather glass; atm pressure; atmospheric; local baro; barometer station; \
             pressure of the day",
        ),
        (
            Field::Humidity,
            "humidity; rh; relative humidity; rel humidity; rel hum; hum; moisture; damp; luftfeuchte; \
             luftfeuchtigkeit; feuchte; humidité; humedad; humidity of air; hygrometer",
        ),
        (
            Field::StatedBaseline,
            "baseline; bare; bare baseline; baseline bare; zero run; zero; reference run; reference flow; \
             base line; carb alone; carburetor alone; bare carb; bare run; baseline with base; reference; \
             bare flow; baseline flow; bare carburetor; reference naked; reference bare; naked; naked \
             reference; referenz; référence; referencia; baseline flow bare; base flow; bare reads; bare \
             reading; average of zeros; bare carb flows; carb bare; open carb; baseline reading; baseline \
             average; baseline mean; mean of baselines; without anything; nothing on",
        ),
        (
            Field::Item,
            "item; carburetor; carburettor; carb; on the bench; tested item; throttle body; unit; for; \
             testing; under test; vergaser; carburateur; carburador; prüfling; carb tested; on test; carb \
             under test",
        ),
        (
            Field::Restraint,
            "restraint; held; fastening; how held; fixing; held by; lid held; lid held by; held with; \
             hold down; clamped; clamped by; fastened; fixed; befestigung; fixation; sujeción; tied by; \
             secured by; lids; all lids",
        ),
        (
            Field::Service,
            "service; state; elements; filters; condition of elements; filter state; element state; \
             media; filter condition; element condition; condition; cond; state of elements; state of \
             filters; zustand; état; estado; all elements; all filters; paper; papers",
        ),
        // What follows may be several things at once.
        (
            Field::Note,
            "conditions; weather; ambient; ambient conditions; atmosphere; room conditions; note; notes; \
             remarks; remark; comment; comments; air conditions; the day; room and weather; wetter; \
             météo; tiempo; bedingungen; bemerkung; shop conditions",
        ),
    ])
});

pub(super) fn label_of(text: &str) -> Option<(Field, Header)> {
    let text = text.trim();
    if text.is_empty() || text.chars().count() > 48 {
        return None;
    }
    let inner = text.trim_end_matches([':', '=', '.']).trim();
    let header = Header::of(0, inner);
    // What a label adds in brackets says more of it: `Reference (naked)`.
    let main =
        inner.split_once('(').map(|(main, _)| Header::of(0, main.trim())).filter(|h| !h.words.is_empty());
    if header.words.is_empty() || header.words.iter().any(|w| w.bytes().any(|b| b.is_ascii_digit())) {
        return None;
    }
    let marked = text.ends_with([':', '=']);
    // `Units: flow in L/s` is about how the rows are written, no unit under test.
    if header.words == ["units"] {
        return marked.then_some((Field::Note, header));
    }
    let least = if marked { 0.7 } else { 0.9 };
    // The unit is no objection here: a label of a date has none.
    let best = LABELS
        .iter()
        .map(|(field, spellings)| {
            let alone = main.as_ref().map_or(0.0, |main| score(main, *field, spellings));
            (alone.max(score(&header, *field, spellings)), *field)
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    if best.0 >= least {
        Some((best.1, header))
    } else if marked {
        Some((Field::Note, header))
    } else {
        None
    }
}

/// Whether a text labels a value of a page.
pub(crate) fn is_label(text: &str) -> bool {
    label_of(text).is_some_and(|l| l.0 != Field::Note || text.trim().ends_with(':'))
}

//! What people write above their columns, field by field, each alone: US, metric, German, French and Spanish hands.
//!
//! Common practice, no source.

use airshelf_intake::map::{Group, Header, columns::assign};

/// Fields that a header alone leaves open between: what was set or held, a loss in flow or in percent.
const EITHER: &[&[&str]] = &[
    &["set_pressure", "actual_pressure"],
    &["order", "purpose"],
    &["stated_loss", "stated_loss_percent"],
    &["filter", "item"],
];

#[track_caller]
fn mapped(group: Group, lists: &[(&str, &str)]) {
    let mut wrong = Vec::new();
    for (field, headers) in lists {
        let headers: Vec<&str> = headers.split('|').map(str::trim).collect();
        assert!(headers.len() >= 15, "{field} has {} headers", headers.len());
        for text in headers {
            let found = &assign(&[Header::of(0, text)], group)[0];
            let name = found.field.map_or("-".to_owned(), |f| f.name().into_owned());
            let alike = EITHER.iter().any(|e| e.contains(field) && e.contains(&name.as_str()));
            if name != *field && !alike {
                wrong.push(format!("{field}: {text:?} is taken for {name} ({})", found.confidence));
            } else if found.confidence < 0.62 {
                wrong.push(format!("{field}: {text:?} is sure to {}", found.confidence));
            }
        }
    }
    assert!(wrong.is_empty(), "{} headers\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn columns_of_runs() {
    mapped(
        Group::Runs,
        &[
            (
                "session",
                "Session|Sess.|Session #|Evening|Eve.|Night|Night no.|Test session|Page|Book page|Leaf|Sitting|Series|Visit|Block|Sitzung|Abend|Séance|Sesión|Session name|Evening no.",
            ),
            (
                "date",
                "Date|Dt.|Test date|Date of test|Date tested|Day|Run date|Tested on|Night of|When|Datum|Tag|Fecha|Jour|Prüfdatum|Date run|Day of test",
            ),
            (
                "range",
                "Range (CFM)|Range, m3/h|Bench range|Full scale CFM|F.S. (CFM)|Range in use|Scale (l/s)|of CFM range|Meter range CFM|Range used (CFM)|Max range CFM|Messbereich (m³/h)|Plage m3/h|Rango (m3/h)|Bench scale CFM|Capacity CFM|Range limit, CFM",
            ),
            (
                "item",
                "Item|Carb|Carb.|Carburetor|Carburettor|Carb on bench|On bench|Carb tested|Test item|Throttle body|Unit under test|Vergaser|Carburateur|Carburador|Prüfling|Carb no.|Subject",
            ),
            (
                "purpose",
                "Purpose|Type|Type of run|Kind|Kind of run|Run type|What we did|What was run|Doing|Ran as|Job|Mode|Test type|Sort of run|Zweck|Messart|Kind of test|Reason|What for|Measurement kind",
            ),
            (
                "order",
                "No.|Nr.|Nº|#|Run|Run #|Run no.|Seq|Seq.|Sequence|Order|Test no.|Test #|Lfd. Nr.|Pull no.|Line|Lauf|Numéro|Orden|Ordre|Reading no.|Step|Num|Position",
            ),
            (
                "clock",
                "Time|Clock|Hour|Hr|Hr.|At|Time of day|Started|Start time|Time started|Clock time|Uhrzeit|Zeit|Heure|Hora|O'clock|Taken at",
            ),
            (
                "base",
                "Base|Base plate|Baseplate|Base pan|Pan|Bottom|Bottom plate|Lower|Lower part|Lower half|Underneath|Tray|Base used|Unterteil|Bodenplatte|Grundplatte|Embase|Fondo|Drop base|Foot",
            ),
            (
                "spacer",
                "Spacer|Spacers|Riser|Ring|Spacer ring|Riser used|Stand-off|Distance ring|Shim|Extension|Zwischenring|Distanzring|Entretoise|Rehausse|Separador|Espaciador|Neck ring",
            ),
            (
                "filter",
                "Filter|Air filter|Filter el.|Element|Elem.|Air cleaner|Cleaner|Cartridge|Media|Filter element|Element used|Insert|Filtereinsatz|Luftfilter|Filtre|Filtro|Cartouche|Element fitted|Fltr",
            ),
            (
                "lid",
                "Lid|Lid used|Top|Top plate|On top|Top cover|Cover|Cap|Upper|Upper part|Upper half|Hat|Deckel|Oberteil|Couvercle|Tapa|Cubierta|Cover plate|Top lid",
            ),
            (
                "velocity_stack",
                "Velocity stack|Vel. stack|V-stack|Horn|Air horn|Trumpet|Bellmouth|Inlet horn|Ram pipe|Entry radius|Ansaugtrichter|Trichter|Cornet|Trompette|Trompeta|Bell mouth|Radius",
            ),
            (
                "stud",
                "Stud|Center stud|Centre stud|Stud used|Bolt|Center bolt|Centre bolt|Rod|Threaded rod|Stehbolzen|Bolzen|Gewindestange|Goujon|Espárrago|Varilla|Through bolt|Long bolt",
            ),
            (
                "assembly",
                "Assembly|Stack|Stack-up|Combination|Combo|Setup|Set-up|Build|Parts|Configuration|Config.|What was on|What was fitted|Aufbau|Zusammenstellung|Ensemble|Conjunto|On it|Parts fitted",
            ),
            (
                "restraint",
                "Restraint|Held|Held by|Held with|How held|How it was held|Nut?|Nut|Nut on?|Fastened|Fastened by|Fixed how|Fixing|Clamped|Clamped by|Down with|Tied by|Tied down|Secured|Secured by|Attached|Attachment|Lid held by|Hold-down|Bolted down|Befestigung|Befestigt|Fixation|Sujeción|Screwed|Tightened|Hand held?",
            ),
            (
                "service",
                "Service|State|State of element|El. state|Filter state|Element is|Element was|Condition|Cond.|Filter cond.|Dirty/new/oiled|New or oiled?|Oiled?|Clean/dirty|Filter service|How clean|Zustand|Filterzustand|État|Estado|Service state",
            ),
            (
                "direction",
                "Direction|Dir.|Way|Which way|Air goes|Flow direction|Direction of flow|Suck or blow|Blow/suck|In/out|Intake or exhaust|Richtung|Sens|Sentido|Dirección|Sense|Air direction",
            ),
            (
                "set_pressure",
                "Set pressure (inH2O)|Set, in H2O|Set mbar|Test pressure (in. H2O)|Test depression [mbar]|Depression set|Target (inH2O)|Target depression|Wanted, inH2O|inH2O wanted|Nominal mbar|Vacuum set (inH2O)|Set hPa|Set water|Test vacuum, kPa|Aim inH2O|Prüfdruck (mbar)|Solldruck (mbar)|Unterdruck soll mbar|Dépression de consigne (mbar)|Consigne mbar|Presión de prueba (mbar)|Depression (in. of water)|Pressure drop (inH2O)|Suction, mbar|Set point inH2O|Setpoint kPa|Req. inH2O|Depr. set inH2O|Asked for (inH2O)",
            ),
            (
                "actual_pressure",
                "Actual pressure (inH2O)|Actual, inH2O|Act. mbar|ACT INH2O|Held, in H2O|Held hPa|Held at in H2O|inH2O held|Depression read [mbar]|Depression held|Pressure as read (mbar)|Measured pressure (inH2O)|Manometer inH2O|Gauge (inH2O)|Water held|Vacuum held (inH2O)|Istdruck mbar|Ist mbar|Dépression mesurée (mbar)|Presión medida (mbar)|Pressure held|Read inH2O|Indicated depression (mbar)|True pressure inH2O|Observed inH2O|Got, inH2O|Depression at reading (mbar)|Actual depression|U-tube inH2O|Actual water",
            ),
            (
                "flow",
                "Flow|Flow (CFM)|CFM|CFM read|CFM (read)|cfm, read|Flow read CFM|Flow as read m3/h|As read, CFM|Read CFM|Reading (CFM)|Flow rate [m³/h]|Airflow [m³/h]|Air flow CFM|Measured flow (L/s)|Indicated CFM|Raw flow CFM|m3/h|L/s|Meter reading CFM|Bench reading (CFM)|Observed flow|Durchfluss (m³/h)|Volumenstrom m3/h|Débit (m3/h)|Débit lu m3/h|Caudal (m3/h)|Flow uncorrected CFM|Gross CFM|Q (m3/h)|Flow meas. CFM",
            ),
            (
                "air_temperature",
                "Air temperature (F)|Air temp.|Air, F|Air °C|Temp F|Temp. (°F)|Temperature [°C]|Room F|Room temp °F|Ambient °C|Ambient temp (F)|Shop temp F|Inlet temp °F|T air °C|Lufttemperatur °C|Temperatur [°C]|Raumtemperatur °C|Température (°C)|Temperatura °C|Air in °C|Air temp F",
            ),
            (
                "barometer",
                "Barometer (inHg)|Baro, inHg|Baro. inHg|Barom. hPa|BARO INHG|Barometric pressure (mbar)|Station baro, inHg|Station pressure (inHg)|Air pressure hPa|Atm. pressure (kPa)|Atmospheric pressure mmHg|Glass, in Hg|BP inHg|Luftdruck hPa|Baromètre (hPa)|Pression atm. hPa|Presión atmosférica (hPa)|Barómetro hPa|Local baro inHg|Pressure of the air hPa",
            ),
            (
                "humidity",
                "Humidity (%)|Humidity %|RH %|RH, %|R.H. [%]|Rel. humidity|Rel. hum. %|Hum. %|Relative humidity (%)|Moisture %|Luftfeuchte %|rel. Feuchte %|Luftfeuchtigkeit (%)|Humidité (%)|Humidité relative %|Humedad %|Humedad relativa (%)|Damp %|Hum %",
            ),
            (
                "note",
                "Note|Notes|Remark|Remarks|Rem.|Comment|Comments|Said|Words|Scribbles|MEMO|Observations|Bemerkung|Bemerkungen|Anmerkung|Remarque|Observaciones|Nota|Text|Margin",
            ),
            (
                "stated_baseline",
                "Baseline (CFM)|Baseline CFM|Baseline used CFM|Bare CFM|Bare flow (CFM)|Reference flow m3/h|Reference m3/h|Bare carb CFM|Carb alone CFM|Zero run CFM|Stated baseline (CFM)|Referenz m3/h|Référence (m3/h)|Referencia m3/h|Against (CFM)|Bare reading CFM",
            ),
            (
                "stated_loss",
                "Loss (CFM)|Loss m3/h|LOSS CFM|CFM lost|cfm lost|CFM down|Down, CFM|Down by CFM|Lost CFM|Flow loss (CFM)|Loss vs baseline CFM|Down from bare, CFM|Below baseline CFM|Delta CFM|Difference (CFM)|Cost, CFM|Verlust m3/h|Perte (m3/h)|Pérdida m3/h|Stated loss (CFM)|Drop in flow CFM|Change CFM|Penalty CFM|Given up, CFM|Off bare CFM",
            ),
            (
                "stated_loss_percent",
                "Loss %|Loss (%)|% loss|%Lost|Percent loss|Percent lost|Loss percent|Down %|% down|Loss in percent|Pct loss|Pct. lost|Verlust %|Perte %|Pérdida %|Lost %",
            ),
            (
                "leakage",
                "Leakage (CFM)|Leak, CFM|Leak CFM|Leakage m3/h|Fixture leakage CFM|Fixture leak (CFM)|Leak rate CFM|Leakage taken off CFM|Leak off CFM|Bench leak CFM|Leckage m3/h|Leckmenge (m3/h)|Fuite (m3/h)|Fuga m3/h|Tare CFM|Less leakage CFM",
            ),
            (
                "net_flow",
                "Net flow (CFM)|Net, CFM|Net CFM|Net m3/h|Flow net CFM|Flow less leakage CFM|Flow minus leak CFM|After leakage CFM|Net of leakage CFM|Without leakage m3/h|Netto m3/h|Débit net (m3/h)|Caudal neto m3/h|Leak free CFM|Flow after leak CFM|Corrected for leakage CFM",
            ),
            (
                "flow_at_set_pressure",
                "Flow at set pressure (CFM)|FLOW AT SET CFM|At set CFM|Net at set, CFM|Corrected CFM|Corrected flow (CFM)|Flow corrected m3/h|Corr. flow CFM|Corrected to set CFM|Corrected to 28\"|At test pressure CFM|Flow at target CFM|Pressure corrected CFM|Durchfluss korrigiert m3/h|Débit corrigé m3/h|Caudal corregido m3/h",
            ),
            (
                "flow_at_reference_air",
                "Flow at reference air (CFM)|FLOW AT REF AIR CFM|At reference air CFM|SCFM|Std CFM|Standard CFM|Standard flow CFM|Flow at standard air m3/h|Density corrected CFM|Air corrected CFM|Normalized flow CFM|Normdurchfluss m3/h|Débit normal m3/h|Caudal normal m3/h|Corrected for air CFM|Flow on a standard day CFM",
            ),
            (
                "place",
                "Place|Rank|Ranking|Placed|Standing|Pos.|Finish|Placing|Platz|Rang|Classement|Puesto|Came in place|Order of merit|Lugar|Place in list",
            ),
            (
                "readings",
                "Readings|Pulls|Repeats|No. of readings|Number of readings|Readings taken|How many readings|Times read|Times|Samples|Number of pulls|No. of pulls|Tries|Anzahl|Veces|How often|Count",
            ),
        ],
    );
}

#[test]
fn columns_of_parts() {
    mapped(
        Group::Parts,
        &[
            (
                "tag",
                "Tag|Part|Part no.|Part #|Part number|No.|Label|Mark|Code|Tag no.|Shelf tag|Ref.|Item no.|Stock no.|Teilenummer|Nummer|Repère|Código|Part ID|Key",
            ),
            (
                "kind",
                "Kind|Type|Part type|Kind of part|Category|Sort|Class|What kind|Art|Genre|Tipo|Clase|Type of part|Is a|Group",
            ),
            (
                "name",
                "Name|Description|Descr.|What it is|It is|Part name|Called|Title|Bezeichnung|Désignation|Descripción|Nombre|Known as|What|Full name",
            ),
            (
                "maker",
                "Maker|Make|Brand|Manufacturer|Made by|Mfr.|Hersteller|Fabricant|Fabricante|Marke|Marque|Marca|Supplier|Seller|Vendor",
            ),
            (
                "price",
                "Price|Price (EUR)|Cost|Paid|Price paid|EUR|USD|Dollars|Preis|Prix|Precio|We paid|Asking|Amount paid|Unit price|Bought for",
            ),
            (
                "arrived",
                "Arrived|Arrival|Date arrived|Received|Came|Came in|In since|Bought|Bought on|Date bought|Purchase date|Got|Delivered|Gekauft|Kaufdatum|Reçu le|Llegada|Comprado|Acquired",
            ),
            (
                "filtration",
                "Filtration|Filtration claim|Efficiency|Filter efficiency|Dust|Claim|Filtering|Keeps out|Stops|Abscheidegrad|Efficacité|Eficiencia|Filtration efficiency|Dust test|How well it filters",
            ),
            (
                "OD",
                "OD (in)|O.D.|OD mm|Outside diameter|Outer diameter (mm)|Outer mm|Ø outer (mm)|Outer Ø mm|Outside dia.|Dia. (in)|Diameter|Across|Außendurchmesser mm|Ø außen|Diamètre extérieur (mm)|Ø ext. mm|Diámetro exterior mm|Outside|Width (in)|Overall diameter",
            ),
            (
                "ID",
                "ID (in)|I.D.|ID mm|Inside diameter|Inner diameter (mm)|Inner mm|Ø inner (mm)|Inside|Inside dia.|Hole (in)|Innendurchmesser mm|Ø innen|Diamètre intérieur|Ø int. mm|Diámetro interior mm|Center hole in",
            ),
            (
                "height",
                "Height (in)|Height mm|Tall (mm)|High in|Overall height|Total height mm|Ht (in)|H (mm)|Thickness (in)|Höhe mm|Gesamthöhe|Dicke mm|Hauteur (mm)|Altura mm|Overall ht.|How tall",
            ),
            (
                "pleat_count",
                "Pleat count|Pleats|No. of pleats|Number of pleats|# of pleats|Folds|Number of folds|Pleat qty|Count of pleats|Faltenzahl|Falten|Anzahl Falten|Plis|Nombre de plis|Pliegues",
            ),
            (
                "pleat_depth",
                "Pleat depth (in)|Pleat depth|Depth of pleat|Pleats deep|Deep (in)|Depth (in)|Fold depth (mm)|Depth of fold|Pleat deep in|Faltentiefe mm|Tiefe mm|Profondeur des plis mm|Profondeur (mm)|Profundidad mm|Folds deep",
            ),
            (
                "pleat_free_height",
                "Pleat free height (in)|Free height|Free height mm|Free ht.|Fold height, free (mm)|Pleat height (in)|Media height|Height between seals|Between seals|Open height|Clear height in|Exposed height|Freie Höhe mm|Faltenhöhe mm|Hauteur libre mm|Altura libre mm",
            ),
            (
                "neck_bore",
                "Neck bore (in)|Neck|Neck mm|Neck Ø (mm)|Ø neck|Neck dia.|Bore|Carb opening|Carb hole|Throat|Halsweite mm|Bohrung mm|Alésage mm|Cuello mm|Neck hole in|Neck size",
            ),
            (
                "drop",
                "Drop (in)|Drop|Drop mm|Base drop|Dropped (in)|Drop depth|Recess|Sinks (in)|Absenkung mm|Abgesenkt mm|Abaissement mm|Rebaje mm|Lowered by mm|Sunk by (in)|Drop of base",
            ),
            (
                "stud_length",
                "Stud length (in)|Stud length mm|Stud|Length|Length (in)|Length of stud|Rod length|Bolt length|Length of rod|Thread length|Bolzenlänge mm|Länge mm|Longueur mm|Longitud mm|Largo mm|Long (in)",
            ),
            (
                "register",
                "Register (in)|Register mm|Register dia.|Register Ø|Carb flange|Flange|Flange dia.|Carb register|Air horn OD|Spigot (mm)|Aufnahme mm|Flansch mm|Bride mm|Brida mm|Register diameter|Flange diameter",
            ),
            (
                "media_area",
                "Media area (in2)|Media sq in|Media, sq in|Area (sq in)|Paper area cm2|Filter area|Media surface|Surface area|Total area|Filterfläche cm2|Fläche cm2|Surface filtrante cm2|Superficie cm2|Area of media|Pleated area|cm2",
            ),
            (
                "mass",
                "Mass (g)|Weight|Weight (g)|Weighs|Wt.|Wt (oz)|Weight lb|Gewicht g|Masse g|Poids g|Peso g|Grams|Weight of part|kg|g",
            ),
            (
                "note",
                "Note|Notes|Remark|Remarks|Comment|Comments|Memo|Bemerkung|Bemerkungen|Anmerkung|Remarque|Observaciones|Nota|Rem.|Scribbles",
            ),
        ],
    );
}

#[test]
fn columns_of_guesses_and_ratings() {
    mapped(
        Group::Guesses,
        &[
            (
                "who",
                "Who|Who bets|Who guessed|Name|Person|By|Guesser|Bettor|Predictor|Whose guess|Guessed by|Predicted by|Wer|Qui|Quién",
            ),
            (
                "guess",
                "Guess|Guess (CFM)|Prediction|Predicted CFM|Predicted flow|Guessed loss|Loss m3/h|CFM lost|Estimate|Expected|Bet|Forecast|Tipp|Schätzung|Apuesta",
            ),
            (
                "low",
                "Low|Low (CFM)|Lowest|Min|Min.|Minimum|At least|Lo|Not below|Low end|Lower limit|No less than|Mindestens|Von|Au moins|Mínimo",
            ),
            (
                "high",
                "High|High (CFM)|Highest|Max|Max.|Maximum|To|At most|High end|Upper limit|No more than|Höchstens|Bis|Au plus|Máximo",
            ),
            (
                "written",
                "Written|Written on|Date|When|Date written|Written at|Written down|Put down|Sealed|Time|Geschrieben|Écrit le|Escrito|Noted|Sealed at",
            ),
        ],
    );
    mapped(
        Group::Ratings,
        &[
            (
                "item",
                "Item|Carb|Carburetor|Carburettor|Carb model|Model|Which|Which carb|Throttle body|Vergaser|Carburateur|Carburador|What|Name|Carb name",
            ),
            (
                "flow",
                "Flow|CFM|Rated|Rated CFM|Rated flow|Rating (CFM)|CFM rating|Claimed flow CFM|Advertised CFM|Book CFM|Listed CFM|Nominal flow|Durchfluss m3/h|Débit m3/h|Caudal m3/h",
            ),
            (
                "rated_at",
                "Rated at|Rated at inHg|RATED AT|at in. Hg|At|Test depression|Test depression (inHg)|Depression|Rating pressure|Pressure drop (inHg)|Tested at inHg|Measured at|Vacuum inHg|Prüfdruck|Dépression|At a drop of",
            ),
            (
                "against_first",
                "Against the first|AGAINST FIRST CFM|Difference|Over the first|Vs first|Gain CFM|More than ours CFM|More than the first|Above the first CFM|Difference to first CFM|To the first|From the first|Against ours CFM|Vs ours|Over ours CFM",
            ),
        ],
    );
}

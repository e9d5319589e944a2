//! What tables of runs and lists of winners call their columns.

use crate::map::Field;

/// Runs and lists of winners.
pub(crate) const RUNS: &[(Field, &str)] = &[
    (
        Field::Session,
        "session; evening; night; page; sitting; series; set name; session name; test session; block; \
         meeting; visit; round; outing; sheet; book page; ses; sess; eve; evng; session no; session id; \
         night no; evening no; ref; day ref; book; leaf; journal page; day no; batch; nt; nght; sitzung; abend; seite; séance; \
         seance; soirée; soir; sesión; sesion; noche; test day; tag of session; group; tag of night; log",
    ),
    (
        Field::Date,
        "date; day; test date; on; when; run date; tested; day of test; night of; evening of; dt; date of \
         test; date run; day month; d m y; dated; datum; tag; fecha; jour; dia; día; messtag; prüfdatum; \
         run on; done on; date dd mm yy; dd mm yy; dd mm yyyy; yyyy mm dd; mm dd yy; date d m y; ran on",
    ),
    (
        Field::Bench,
        "bench; flow bench; bench name; rig; machine; flowbench; stand; test stand; bench used; \
         prüfstand; banc; banco; on which bench; where; where run; place of test",
    ),
    (
        Field::Range,
        "range; bench range; full scale; scale; range in use; meter range; fs; bench scale; meter scale; \
         capacity; flow range; range used; of range; range max; max range; range limit; upper limit; of \
         scale; top of scale; scale used; scale max; range top; range set; meter max; messbereich; \
         bereich; plage; étendue; gamme; rango; escala; range setting; end of scale",
    ),
    (
        Field::Item,
        "item; carburetor; carburettor; carb; on bench; on the bench; test item; throttle body; unit \
         under test; carb on bench; subject; unit; what is on the bench; under test; carb tested; \
         carburetor tested; tested item; for; carb no; carb used; vergaser; carburateur; carburador; \
         prüfling; throttle; intake tested; which carb; body; carby; carbie; unit tested; tested thing; \
         what is under it; two barrel; four barrel; mixer; throttle bodies; test piece; piece tested",
    ),
    (
        Field::Purpose,
        "purpose; type; what; kind; run type; test type; kind of run; reason; why; run kind; what was \
         run; mode; measurement; test kind; what for; sort of run; kind of test; job; what we did; flow \
         test kind; ran as; done; doing; action; activity; category; class; row type; kind of reading; \
         what it is; type of run; type of test; nature; entry; art; zweck; messart; genre; objet; what \
         was done; propósito; tipo; clase; art der messung; type de mesure; sort; sort of test; did what; \
         did; type of pull; aim of run; run or base; what we ran; what we measured; kind of pull; role; \
         test or base; base or test; baseline or test; what sort; with; sort of reading",
    ),
    (
        Field::Order,
        "order; #; no; nr; number; run; run no; run number; run #; test no; test number; test #; seq; \
         sequence; line; n; id; pull; pull no; position; test; no of run; reading no; reading number; \
         item no; step; count no; nº; n°; num; run order; lfd nr; lfd; ser; serial; no of test; ordinal; \
         lauf; lauf nr; messung nr; nummer; numéro; numero; ordre; orden; essai; essai no; mesure no; \
         prueba no; test order; order run; shot; measurement no; measurement number; pass; go; try; \
         attempt; turn; go no; try no; pull nr; as run; row; nth; position in evening; lfdnr",
    ),
    (
        Field::Clock,
        "clock; time; clock time; at; hour; time of day; started; start; o clock; hh mm; clock started; \
         taken at; hr; hrs; o'clock; clock at; time started; start time; time taken; hour of day; hh; \
         time on clock; when taken; uhr; uhrzeit; zeit; heure; hora; local time; watch; began; when; o \
         clock at; time read; clock read; time of run",
    ),
    (
        Field::Base,
        "base; bottom; pan; base plate; baseplate; base pan; lower; drop base; tray; under; bottom plate; \
         base used; plate; dish; base dish; lower plate; floor; underside; foot; lower part; lower half; \
         underneath; bottom part; bottom pan; bottom half; under plate; seat; base part; mount; \
         unterteil; boden; bodenplatte; grundplatte; unten; embase; fond; socle; fondo; bandeja; lower \
         shell; housing bottom; backplate; back plate; back; rear plate; rear; lower pan; base ring; bowl; base bowl; saucer; skirt",
    ),
    (
        Field::Spacer,
        "spacer; spacer ring; riser; ring; spacer used; shim; extension; raiser; lift ring; neck ring; \
         spacer plate; spacers; spacer on; riser used; riser ring; stand off; standoff; distance ring; \
         distance piece; packer; lift; zwischenring; distanzring; distanzstück; entretoise; rehausse; \
         cale; separador; espaciador; suplemento; adapter ring; block; collar; packing; adapter; gap; \
         spacer block; spacer gap; lifted by; clr",
    ),
    (
        Field::Filter,
        "filter; air filter; element; cleaner; air cleaner; filter element; media; filter used; \
         cartridge; sleeve; paper; foam; cleaner element; filter media; element on; filter on; filter el; \
         filter fitted; element used; element fitted; air element; filt; elem; cleaner used; filter no; \
         filtering element; insert; filter insert; filtereinsatz; luftfilter; einsatz; filtre; élément; \
         elemento; filtro; cartouche; cartucho; pad",
    ),
    (
        Field::Lid,
        "lid; top; cover; cap; top plate; upper; lid used; hat; cover plate; upper plate; roof; closure; \
         lid on; on top; top lid; top cover; upper part; top piece; lid fitted; top fitted; cover used; \
         upper half; upper shell; above; bonnet; deckel; oberteil; oben; couvercle; chapeau; dessus; \
         tapa; cubierta; tapadera; top side; top used; cover fitted; top pan; faceplate; face plate; front \
         plate; front; end plate; face",
    ),
    (
        Field::VelocityStack,
        "velocity stack; vel stack; horn; trumpet; radius; entry; bellmouth; air horn; stack used; inlet \
         horn; entry horn; ram pipe; ram tube; bell; bell mouth; ansaugtrichter; trichter; cornet; \
         trompette; trompeta; v stack; inlet radius; entry radius; funnel",
    ),
    (
        Field::Stud,
        "stud; center stud; bolt; stud used; rod; center rod; threaded rod; through bolt; long bolt; \
         centre stud; stud on; stud no; centre bolt; center bolt; bolzen; stehbolzen; gewindestange; \
         goujon; tige; espárrago; esparrago; varilla; centre screw; center screw; through screw; long screw; tie rod; centre rod; centre pin; \
         center pin; spindle",
    ),
    (
        Field::Assembly,
        "assembly; stack; combination; combo; setup; set up; build; parts; configuration; config; what \
         was on; stack up; filter lid base; on it; fitted; mounted; what is on; arrangement; what was \
         fitted; what was on it; on the carb; complete assembly; whole assembly; kit; set up tested; \
         parts on; parts fitted; put together; aufbau; zusammenstellung; kombination; montage; ensemble; \
         combinaison; conjunto; montaje; combinación; tested parts; what was tested; make up; bits; bits \
         on; bits fitted; pieces; pieces on; hardware; what it wore; wearing; on top of it; rigged with; \
         things on; fitted up as; dressed with; as built; trim; dressed as; dressed up as; makeup; parts \
         stack; parts list; what went on; sat on it",
    ),
    (
        Field::Restraint,
        "restraint; held; how held; fixing; fastening; fastened; held by; hold; clamped; clamp; secured; \
         held down; how fastened; attachment; held how; fixed; held with; fastener; held down by; how it \
         was held; retained by; retention; tied down; grip; down with; held down with; tied by; tied \
         with; tied; nut; nut on; nut fitted; screwed; screw; bolted; bolted down; clamped by; clamped \
         with; attached; attached by; attached with; attachment used; how attached; how tied; how \
         clamped; how secured; secured by; secured with; lid held; lid held by; lid fixing; holding; held \
         on by; held on with; kept down by; kept by; hold down; hold down by; fixed how; fixed by; fixed \
         with; fastened by; fastened with; hand held; taped; befestigung; befestigt; gehalten; wie \
         gehalten; fixation; maintien; tenu par; serrage; sujeción; sujecion; fijación; fijacion; sujeto; \
         tightened; tightened by; pinned; restrained; restrained by; kept on; kept on by; how kept; how \
         kept on; kept down; stayed on by; stays on by; what held it; what held the lid; what kept it on; \
         held in place by; how it stayed on; nutted; wing nut; wingnut; done up; done up with; how done \
         up; anchored; anchored by; tied how; down by; lid down by; hold on; held on; how tight; \
         retained; closed with; lid nut; stopped by; nut state; lid kept by; clamping; tie; tie down; \
         screwed with; screwed down; locked; locked by; locked with; weighed down by",
    ),
    (
        Field::Service,
        "service; state; condition; service state; filter state; element state; element was; filter \
         condition; element condition; filter was; cleanliness; oil; element is; media state; shape; \
         shape it is in; element shape; how clean; dirt; oiling; wear; cond; dirty new oiled; new oiled \
         dirty; new or oiled; new or used; clean dirty; dirty or clean; el state; elem state; state of \
         element; state of filter; condition of element; condition of filter; filter service; service \
         condition; in what state; oiled; used; age; filter age; zustand; filterzustand; état; etat; état \
         du filtre; estado; condición; estado del filtro; was it oiled; element service; as fitted; \
         looks; how it looked; how dirty; state then; state now; cleaner was; cleaner then; cleaner \
         state; how was it; what state; element looked; element then; filter is; washed; freshness; \
         media condition; filter looked; element looks; paper was; foam was; how the filter was; how the \
         element was; how it was; as it was; oil or not; dusty; cleaner condition; cleaner was in",
    ),
    (
        Field::Direction,
        "direction; way; flow direction; air direction; sense; dir; blow or suck; flow way; way of flow; \
         which way; air way; air goes; air went; goes; blowing or sucking; suck or blow; suck blow; in or \
         out; in out; intake or exhaust; direction of air; direction of flow; flowing; richtung; \
         strömungsrichtung; sens; sens du flux; dirección; direccion; sentido; side; way round; pull or \
         push; push or pull; suction or pressure; drawn or blown; in or outwards; flow by; flow is by; air by; air moved by; breath; breathing",
    ),
    (
        Field::Refit,
        "refit; refitted; taken off; new fitting; reassembled; refit yes no; off and on; taken off and \
         on; removed; rebuilt; fitted again; lifted off; new mount; neu aufgesetzt; remonté; remontado; \
         taken apart; fresh fit; lifted; new fit; fitted afresh; put on again; off on",
    ),
    (
        Field::SetPressure,
        "set pressure; set; test pressure; set point; setpoint; target pressure; target; pressure set; \
         depression; test depression; nominal pressure; nominal; pressure wanted; set depression; \
         depression set; pressure; water; pressure drop; vacuum; dp; delta p; test vacuum; asked for; \
         aim; aimed at; wanted; target depression; wanted depression; aim pressure; desired; desired \
         pressure; nominal depression; goal; set to; set at; asked depression; depression wanted; \
         depression asked; req; required; required pressure; requested; pressure required; set vacuum; \
         set water; water set; vacuum set; pull; pull at; test water; test at; depression target; \
         depression nominal; pressure target; pressure nominal; aimed pressure; aimed depression; \
         prüfdruck; solldruck; sollwert; unterdruck; soll; druck soll; dépression; depression de \
         consigne; consigne; pression de consigne; pression; depresión; depresion; consigna; presión de \
         prueba; presion; underpressure; suction; suction set; at depression; test drop; draw; drawn at; \
         in h2o wanted; dialed in; dialled in; ordered; meant; called for; supposed to be; pressure \
         asked; set by; set on gauge",
    ),
    (
        Field::ActualPressure,
        "actual pressure; actual; pressure held; held at; held pressure; measured pressure; pressure \
         read; actual depression; pressure actual; depression held; read pressure; pressure at reading; \
         manometer; held; water held; true pressure; depression read; water; pressure; depression; gauge; \
         gauge read; got; shown; seen; depression got; depression shown; depression seen; depression \
         measured; pressure measured; pressure got; pressure shown; pressure seen; observed depression; \
         observed pressure; indicated depression; gauge pressure; came to; measured depression; \
         depression at reading; actual water; vacuum held; vacuum actual; vacuum read; suction held; \
         suction read; held vacuum; pressure as read; depression actual; act; act pressure; actual \
         reading; istdruck; istwert; ist; druck ist; mesurée; pression mesurée; dépression mesurée; \
         depresión medida; presión medida; presion medida; medida; real; underpressure held; held \
         depression; manometer reading; u tube; tube; gauge showed; gauge said; gauge says; on the gauge; needle; needle \
         at; water column; column read; dial; drawn; pulled; really; in fact",
    ),
    (
        Field::Flow,
        "flow; flow as read; as read; flow read; reading; read; airflow; air flow; measured flow; \
         indicated; indicated flow; raw flow; flow rate; observed flow; observed; meter; meter reading; \
         flow measured; volume flow; q; gross; gross flow; flow gross; raw; uncorrected; uncorrected \
         flow; flow uncorrected; flow shown; flow got; flow seen; flow observed; flow indicated; flow \
         raw; as shown; air moved; air passed; as measured; meter flow; bench reading; bench flow; \
         reading on the bench; cfm; flow cfm; cfm read; read cfm; indicated cfm; actual flow; meter \
         shows; bench shows; bench says; meter says; flow of air; air; volume; volumetric flow; volume \
         rate; durchfluss; volumenstrom; luftmenge; fluss; messwert; ablesung; débit; debit; débit lu; \
         débit mesuré; lecture; caudal; flujo; lectura; caudal leído; test flow; flowed; flows; total \
         flow; reading of flow; flow number; through; drew; draws; breathes; breathed; swallowed; gulped; \
         passes; flow on the day; output; as found; metered; rate; flow found; air reading; air read; \
         flow figure; flow value; flow seen on meter",
    ),
    (
        Field::FlowPercent,
        "flow percent; percent of range; % of range; of range; percent of full scale; % of full scale; of full \
         scale; percent of scale; % of scale; % fs; percent fs; percent of bench range; flow in percent of range",
    ),
    (
        Field::AirTemperature,
        "air temperature; air; temperature; t; room; room temperature; ambient; ambient temperature; air \
         t; inlet temperature; room air; shop temperature; intake air; warmth; heat; shop air; \
         temperature of air; air in; temp; air temp; room temp; t air; shop temp; shop; inlet temp; inlet \
         air; temp of air; temperature in room; temp room; lufttemperatur; temperatur; luft; \
         raumtemperatur; raum; température; temperature air; air ambiant; temperatura; temperatura aire; \
         aire; outside temperature; thermometer; temp dry bulb; dry bulb; shed temp; barn temp; garage \
         temp; temp in shed; how warm",
    ),
    (
        Field::MeterTemperature,
        "meter temperature; meter air; temperature at meter; meter air temperature; t meter; orifice \
         temperature; bench temperature; temp at meter; t at meter; bench air; outlet temperature; temp \
         at orifice; messstellentemperatur; température compteur; meter; at the meter; at meter; meter \
         temp; meter air temp; behind the part; downstream; air at meter; meter t",
    ),
    (
        Field::Barometer,
        "barometer; baro; barometric pressure; station pressure; atmospheric pressure; air pressure; \
         glass; ambient pressure; atm; atmosphere; pressure of the day; weather glass; air weight; baro \
         reading; barometer reading; barom; bp; station baro; station; local baro; baro pressure; \
         pressure of the air; air pressure of the day; pressure of air; atmos; atmospheric; barometric; \
         abs pressure; absolute pressure; luftdruck; baromètre; barometre; pression atmosphérique; \
         pression atm; barómetro; barometro; presión atmosférica; presion atmosferica; qfe; local \
         pressure; uncorrected baro; mercury; outside pressure; day pressure; pressure outside; pressure \
         today; baro of day; atmospheric press",
    ),
    (
        Field::Humidity,
        "humidity; rh; relative humidity; hum; moisture; rh %; damp; wetness; humid; damp of air; \
         humidity of air; relative; rel hum; rel humidity; r h; rh percent; humidity percent; hum \
         percent; moist; feuchte; luftfeuchte; luftfeuchtigkeit; rel feuchte; feuchtigkeit; humidité; \
         humidite; humidité relative; hygrométrie; humedad; humedad relativa; hygrometer; damp percent; \
         wet; dampness; water in air; humidness; air damp",
    ),
    (
        Field::Note,
        "note; notes; remark; remarks; comment; comments; said; observations; memo; text; scribbles; rem; \
         rems; words; scribble; notes and so on; anything else; annotation; annotations; what happened; \
         remarked; jotted; jotted down; jottings; observation; observed; bemerkung; bemerkungen; \
         anmerkung; notiz; remarque; remarques; commentaire; observación; observaciones; nota; notas; \
         comentario; margin; also; misc; notes remarks; details; said at the time; what we saw; we said; \
         anything; aside; by the way; told; oddities; notes on run; what went on; nb; thoughts; ps; \
         asides; said by us; anything odd; odd things; odd; notices; noticed; what else; else; more; \
         reminder; chat; diary",
    ),
    (
        Field::Photo,
        "photo; picture; image; photo file; snapshot; foto; picture no; photo no; pic; image file; snap",
    ),
    (
        Field::StatedBaseline,
        "stated baseline; baseline; base line; baseline used; bare; bare flow; baseline flow; reference \
         flow; against; baseline stated; zero flow; reference; bare baseline; baseline of the night; \
         reference used; zero; bare cfm; bare flow used; bare reading; baseline cfm; baseline that night; \
         carb alone; bare carb; ref; ref flow; reference run; zero run; zero used; open flow; open carb; \
         compared to; compared with; referenz; referenzwert; bezug; référence; débit nu; referencia; \
         without filter; no filter; starting flow; naked; nude; carb only; carb only net; bare net; baseline \
         net; net baseline; carb alone net; nothing fitted; no cleaner",
    ),
    (
        Field::StatedLoss,
        "stated loss; loss; lost; down; down by; drop; flow loss; loss against baseline; cost; costs; \
         difference; delta; loss of flow; change; under baseline; below baseline; less; down from \
         baseline; flow lost; loss vs baseline; against bare; against baseline; vs bare; vs baseline; \
         versus baseline; versus bare; compared with bare; to bare; to baseline; less than bare; less \
         than baseline; given up; penalty; off baseline; off bare; lower by; cfm lost; lost cfm; cfm \
         down; down cfm; loss cfm; cfm loss; delta flow; flow down; flow drop; drop in flow; loss in \
         flow; flow given up; minus; shortfall; deficit; missing; reduction; flow reduction; verlust; \
         differenz; minderung; perte; écart; ecart; pérdida; perdida; diferencia; lost vs bare; lost to \
         bare; below bare; under bare; down on bare; down from bare; loss to bare; difference to bare; \
         flow penalty; down on baseline; drawn against bare; against the bare; against the baseline; \
         short of bare; short of baseline; short; short by; costs us; cost us; behind bare; worse by; \
         loses; what it costs; choked off; it costs",
    ),
    (
        Field::StatedLossPercent,
        "loss percent; percent loss; loss %; percent; % loss; down %; percent down; loss; down; % down; \
         lost; drop; pct loss; change; loss in percent; difference; % of baseline lost; share lost; part \
         lost; loss share; penalty; given up; of bare lost; pct lost; percent lost; percent of bare lost; \
         % lost; lost %; loss pct; % of bare; verlust; perte; pérdida; lost percent; loss as percent; \
         loss per cent; cost %; % off; % cost; % eaten; % taken; in percent; cost; percent cost; off; as \
         a share; share",
    ),
    (
        Field::Leakage,
        "leakage; leak; fixture leakage; fixture leak; leakage taken off; less leakage; leak taken off; \
         leakage off; leakage used; leak off; leakage subtracted; leak subtracted; tare; leaks; leak \
         flow; leakage flow; rig leak; bench leak; leakage of fixture; leaking; leakage cfm; leak rate; \
         leak cfm; leakage rate; leckage; leck; leckmenge; fuite; fuites; fuga; fugas; leak corr; leak \
         correction; leakage correction; deducted leakage; leak deducted; leak allowed for; leak allowed; \
         leaked",
    ),
    (
        Field::NetFlow,
        "net flow; net; flow net; less leakage flow; flow less leakage; flow minus leakage; after \
         leakage; net of leakage; net of leak; less leak; minus leak; minus leakage; without leak; \
         without leakage; leak removed; leakage removed; leakage out; leak free; true flow; real flow; \
         cleaned flow; netto; net reading; net cfm; net air; net of leaks; flow after leak; flow after \
         leakage; flow less leak; flow minus leak; without leaks; netto durchfluss; débit net; caudal \
         neto; neto; net débit; leak corrected; corrected for leakage; corrected for leak; leak gone; \
         leak taken away; leak taken out; less leakage",
    ),
    (
        Field::FlowAtSetPressure,
        "flow at set pressure; net at set pressure; at set pressure; corrected; corrected flow; flow \
         corrected; pressure corrected; corrected to set pressure; flow at test pressure; at set; scaled \
         flow; flow scaled; flow at set; pressure corrected flow; corrected for pressure; at target; at \
         target pressure; flow at target; at aim; net at target; net at set; at nominal; flow at nominal; \
         brought to set pressure; at wanted pressure; brought to target; to set pressure; scaled; \
         corrected reading; reading corrected; at full set; flow at setpoint; at setpoint; flow corrected \
         to set; corrected to set; corr flow; flow corr; corr; cfm corrected; corrected cfm; adjusted to \
         set; to test pressure; at test depression; at test pressure; corrected to test pressure; \
         corrected to test depression; flow at test depression; bei solldruck; korrigiert; durchfluss \
         korrigiert; corrigé; débit corrigé; corregido; caudal corregido; brought to set; at full \
         depression; trued up; at set depression; at set vacuum; reckoned at set",
    ),
    (
        Field::FlowAtReferenceAir,
        "flow at reference air; at reference air; reference air flow; standard flow; flow at standard \
         air; density corrected; air corrected; corrected to standard air; standard air; at standard air; \
         flow standard; air corrected flow; density corrected flow; corrected for air; flow at reference; \
         at reference; reference air; at reference conditions; flow at standard conditions; at standard \
         conditions; normalized; normalized flow; day corrected; std; std flow; std air; flow std; normal \
         flow; at ref air; flow at ref air; ref air; flow ref air; scfm; standard cfm; flow in standard \
         air; in reference air; std cfm; normal conditions; flow at normal conditions; bei normluft; \
         normluft; normdurchfluss; débit normal; caudal normal; flow on a standard day; standard day; std \
         day; corrected for density; weather corrected; corrected for weather; corrected for the day; \
         standard; normalised; normalised flow; at standard day; at normal air; as on a standard day; for \
         standard air; for the weather",
    ),
    (
        Field::AirFactor,
        "air factor; density factor; correction factor; factor; air correction; density correction; air \
         corr; weather factor; day factor; corr factor; k air; luftfaktor; korrekturfaktor; facteur; \
         facteur d air; factor de aire; factor aire; density ratio; multiplier; air multiplier; times \
         air; air times; weather multiplier; air ratio; day ratio; weather corr",
    ),
    (
        Field::Place,
        "place; rank; standing; placed; ranking; pos; finish; came in place; placing; order of merit; \
         best; best first; platz; rang; classement; puesto; lugar; posición; came in; finished; position \
         in list; in order of merit; score; merit; place in list; came; where it came; came where; comes in; comes out; stands; came \
         out; ended; ended up; league place; how it placed; medal; best to worst; how it came; top to \
         bottom; merit order; best of all; winner; order of finish; pecking order",
    ),
    (
        Field::Readings,
        "readings; number of readings; readings taken; pulls; repeats; count; times read; no of readings; \
         samples; reads; times; times taken; number read; how many readings; goes; how many; times measured; \
         runs; tries; number of pulls; pulls made; no of pulls; pulls each; tests; no of tests; how \
         often; repeats made; anzahl; wie oft; fois; nombre de mesures; veces; lecturas; mean of; average \
         of; avg of; times run; times pulled; number of runs; no of runs; goes at it; taken how often; \
         readings made; reads made; goes made; pulls averaged; averaged over; over how many; mean of how \
         many; readings averaged; n readings; n pulls",
    ),
    (
        Field::BaselineSession,
        "baseline session; baseline from; baseline of; baseline evening; against session; baseline taken \
         from",
    ),
    (
        Field::Size,
        "size; filter size; element size; dimensions; size od x height; size od x high; od x height; od x \
         high; dimensions of filter; element dimensions; ø x height; ø x h; od x h; dia x height; dia x \
         h; maße; abmessungen; taille; medidas; tamaño; dims; w x h; dia × ht; dia x ht; how big; d x h; \
         wide x tall; filter dims; element dims; measures",
    ),
];

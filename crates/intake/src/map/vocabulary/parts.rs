//! What tables of parts call their columns.

use crate::map::Field;
use airshelf_catalog::PartDimension as D;

/// Parts.
pub(crate) const PARTS: &[(Field, &str)] = &[
    (
        Field::Tag,
        "tag; part; part no; part number; no; #; label; id tag; tag no; mark; code; number; shelf tag; \
         ref; tag number; part tag; part id; our no; shelf no; shelf number; item no; item number; stock \
         no; inventory no; inv no; key; short name; nr; nummer; teilenummer; teil; référence; repère; \
         código; codigo; pieza; marking; written on it; label on it; our mark; our number; nº; n°; \
         sticker; tally; tag on; chalk; chalked; painted; painted on; ticket; ticket no; id no; peg no; \
         bag; bag no; marked",
    ),
    (
        Field::Kind,
        "kind; type; part type; category; sort; what kind; class; part kind; art; teileart; sorte; genre; \
         tipo; clase; group; part class; is a; type of part; kind of part; what sort; function; thing; \
         type of thing; what part; which kind; family; role; which is; it s a; its a; it s",
    ),
    (
        Field::Name,
        "name; what it is; description; what; part name; called; title; item; thing; known as; what it \
         was sold as; wording; it is; what is it; details; described as; wording on box; says; part \
         description; descr; desc; what they call it; what we call it; call it; goes by; our name; full \
         name; bezeichnung; beschreibung; name des teils; désignation; nom; descripción; descripcion; \
         nombre; sold as; the thing; words; named; nickname; our word; our words; in words; what it looks \
         like; how we call it",
    ),
    (
        Field::Maker,
        "maker; make; brand; firm; company; manufacturer; made by; from; seller; supplier; hersteller; marke; fabricant; \
         marque; fabricante; marca; made in the shop of; builder; producer; manuf; mfr; mfg; bought from; \
         vendor; shop; who made it; origin; from whom; whose make; came from; got from; got it from; made \
         where; works; foundry; house; made at; name on it; brand on it; whose work",
    ),
    (
        Field::Price,
        "price; cost; paid; price paid; money; bought for; asking; amount paid; eur; euro; euros; usd; \
         dollars; gbp; pounds; chf; preis; prix; precio; coste; cost new; we paid; paid for it; price \
         new; was; spent; each; unit price; kosten; bezahlt; payé; gave for it; gave; $; €; £; outlay; we \
         gave; what it cost; it cost; cost us; cash; laid out; dear; value",
    ),
    (
        Field::Arrived,
        "arrived; arrival; date arrived; received; in since; bought; date; came; came in; on shelf since; \
         got; delivered; got on; came on; bought on; acquired; date bought; date in; arrived on; date of \
         arrival; arrival date; date of purchase; purchased; purchase date; acquired on; bought at; came \
         home; here since; in shop since; since; entered; date received; got it; received on; eingang; \
         gekauft; gekauft am; kaufdatum; angekommen; acheté; acheté le; reçu; reçu le; arrivé; arrivée; \
         comprado; recibido; llegada; llegó; in house since; obtained; when bought; when it came; in; \
         turned up; picked up; brought home; when; day it came; in on; home since; ours since; got home; \
         day in; day got; found; came by post",
    ),
    (
        Field::Filtration,
        "filtration; filtration claim; efficiency; filtering; claim; filtration efficiency; dust; filter \
         claim; filter efficiency; dust test; catches; stops; keeps out; cleaning efficiency; \
         abscheidegrad; filterwirkung; filtrierung; efficacité; eficiencia; filtración; filtrage; \
         filtering claim; how well it filters; what it filters; filters how well; how well; filters; \
         stops dust; how well it stops dust; dust stopped; dust caught; keeps dust out; keeps out dust; \
         how it filters; cleans how well; how well it cleans; what it stops; what it catches; catches \
         what; dust claim; holds back; filter rating; filtering rating; micron; microns; micron rating; \
         said to filter; said to catch; said to stop; rated to stop; how good a filter; claims; claimed; \
         protection; cleans; rated for dust; filter test; fineness; how fine; filter quality; says it \
         filters; dust it stops; dust test said; filter figure; what gets through; lets through; passes; \
         pass rate; catch rate; stops what; cleaning; cleaning power; dust rating; stopping power; filtration said; filter value",
    ),
    (
        Field::Service,
        "service; state; condition; service state; filter state; element state; shape; wear; how clean; \
         cond; used or new; new or used; clean or dirty; zustand; état; etat; estado; condición; oiled; \
         state of it; in what state; how it looks; looks; looks like; how it looked; how worn; worn; as \
         found; as it is; state found; found as; used new; dirty; state when got; as bought; when bought \
         was; condition when got; state when bought; dirt; how dirty; clean; cleanliness; freshness; been \
         used; used",
    ),
    (
        Field::Note,
        "note; notes; notice; notices; remark; remarks; comment; comments; memo; remark on part; words; scribbles; \
         anything else; observation; observations; bemerkung; bemerkungen; anmerkung; remarque; \
         remarques; nota; notas; observaciones; comentario; said; rem; text; misc; also; more; oddities; \
         margin; jotted; jottings; nb; ps; aside; what else; oddity; good for; story",
    ),
    (
        Field::Revision,
        "revision; rev; version; revision label; issue; rev no; change; change no; modification; \
         änderung; stand; révision; revisión; state of change",
    ),
    (
        Field::Revised,
        "revised; revision date; changed; modified; date revised; reworked; date changed; changed on; \
         modified on; date modified; geändert; geändert am; modifié le; modificado",
    ),
    (Field::Status, "status; owned; whose; have; ours; owner; belongs to; verbleib; statut; situación"),
    (
        Field::Place,
        "place; where; location; shelf; bin; box; drawer; stored; kept; where it is; where kept; storage; \
         cupboard; rack; regal; fach; lagerort; emplacement; étagère; ubicación; estante; hook; peg",
    ),
    (
        Field::Source,
        "source; dimension source; measured by; measured with; how measured; measured how; taken with; by \
         what; measured using; gemessen mit; gemessen von; mesuré avec; medido con; tool; instrument; \
         measuring tool",
    ),
    (Field::Photo, "photo; picture; image; photo file"),
    (
        Field::Size,
        "size; dimensions; size od x height; size od x high; od x height; od x high; overall size; size \
         dia x height; size ø x height; ø x height; ø x h; od x h; od x tall; dia x height; diameter x \
         height; across x tall; across by tall; maße; abmessungen; taille; medidas; tamaño; dims",
    ),
    (
        Field::Of(D::OutsideDiameter),
        "od; outside diameter; outer diameter; diameter; outside; dia; across; outer; width; o d; ø; \
         outside ø; outer ø; over all diameter; o dia; outside dia; across outside; ø outer; ø out; out \
         dia; outer dia; max diameter; large diameter; overall diameter; diameter over all; outside \
         across; big diameter; aussendurchmesser; außendurchmesser; durchmesser; aussen; außen; ø außen; \
         ø aussen; diamètre; diamètre extérieur; ø ext; extérieur; diámetro; diámetro exterior; exterior; \
         ext dia; ext; d out; rim to rim; over the rims; wide; rim; big end; over the rim; breadth; round",
    ),
    (
        Field::Of(D::InsideDiameter),
        "id; inside diameter; inner diameter; inside; hole; inner; i d; bore inside; inside ø; inner ø; \
         inside dia; across inside; ø inner; ø in; in dia; inner dia; hole dia; hole diameter; center \
         hole; centre hole; small diameter; inside hole; innendurchmesser; innen; ø innen; diamètre \
         intérieur; ø int; intérieur; diámetro interior; interior; int dia; int; d in; inside across; \
         opening inside; hole in the middle; middle; middle hole; hollow; inside wide",
    ),
    (
        Field::Of(D::Height),
        "height; high; overall height; tall; h; thickness; thick; total height; ht; height over all; \
         height overall; total high; how high; how tall; hgt; deep overall; stands; height of element; \
         höhe; hoehe; gesamthöhe; dicke; hauteur; épaisseur; altura; alto; espesor; overall ht; total ht; \
         thickness overall; height all in; rim height; height with seals; seal to seal; depth overall; how thick; height all told; stands up",
    ),
    (
        Field::Of(D::PleatCount),
        "pleat count; pleats; no of pleats; number of pleats; folds; pleat number; pleats counted; count \
         of pleats; pleat qty; qty of pleats; fold count; number of folds; no of folds; how many pleats; \
         pleats no; pleats total; faltenzahl; falten; anzahl falten; plis; nombre de plis; pliegues; \
         número de pliegues; tips; pleat tips; count; n pleats; vee count; vees",
    ),
    (
        Field::Of(D::PleatDepth),
        "pleat depth; deep; depth; depth of pleat; pleats deep; fold depth; pleat deep; depth of pleats; \
         depth of fold; depth of folds; pleat dep; pleats depth; fold deep; folds deep; how deep pleats; \
         faltentiefe; tiefe; tiefe der falten; profondeur; profondeur des plis; profondeur de pli; \
         profundidad; profundidad de pliegue; vee depth; pleat in; pleat dp; fold; how deep; how deep the folds; folds depth",
    ),
    (
        Field::Of(D::PleatFreeHeight),
        "pleat free height; free high; free height; open height; pleat height; media height; height \
         between seals; clear height; free pleat height; exposed height; pleats free; free; pleats open; \
         open pleat height; clear pleat height; clear pleat ht; free ht; free pleat ht; fold height free; \
         free height of pleats; pleat height free; height free; height of pleats; pleats high; open high; \
         open pleats; between seals; between end seals; between the seals; height between end seals; net \
         height; clear high; exposed; exposed pleats; media high; paper height; faltenhöhe; freie höhe; \
         freie faltenhöhe; hauteur libre; hauteur des plis; altura libre; altura de pliegue; working \
         height; pleat window; visible height; paper high; paper tall; between ends; free of seals; without seals; less seals; bare height; seen height",
    ),
    (
        Field::Of(D::NeckBore),
        "neck bore; neck; bore; neck diameter; neck hole; carb hole; carb opening; opening; neck id; \
         throat; neck size; neck ø; ø neck; neck dia; neck inside; bore of neck; carb side; carb bore; \
         hole for carb; carb hole dia; hole to carb; center opening; centre opening; halsweite; \
         halsbohrung; bohrung; hals; halsdurchmesser; alésage; col; ø col; diamètre du col; cuello; \
         diámetro del cuello; boca; throat dia; throat diameter; mouth; fits over; fits; fits carb of; collar; collar bore; slips over; goes over; sits over",
    ),
    (
        Field::Of(D::Drop),
        "drop; base drop; dropped; drop depth; drops; sinks; set down; recess; drop of base; how far \
         dropped; drop in; sunk; sunk by; lowered by; dropped by; offset down; dish depth; dish; tiefer; \
         absenkung; abgesenkt; tieferlegung; décalage; abaissement; rebaje; caída; step down; set below; \
         below rim; down; how deep it drops; offset; how far down; down by; hangs down; deep; depth",
    ),
    (
        Field::Of(D::StudLength),
        "stud length; stud; length; long; length of stud; rod length; rod; bolt length; length of rod; \
         thread length; thread; threaded length; overall length; long overall; stud long; studs long; \
         bolt long; bolzenlänge; länge; laenge; longueur; longueur goujon; longitud; largo; largo del \
         espárrago; how long; len; lgth; stud len; rod long; rod; thread long; overall; how long is it",
    ),
    (
        Field::Of(D::Register),
        "register; flange; register diameter; flange diameter; carb flange; air horn od; carb register; \
         register ø; register dia; carb register dia; air horn diameter; air horn ø; flange ø; flange \
         dia; carb ring; spigot; spigot diameter; seat diameter; carb top diameter; carb top; horn od; \
         neck of carb; aufnahme; aufnahmedurchmesser; flansch; flanschdurchmesser; bride; diamètre bride; \
         brida; centering diameter; locating diameter; mating diameter; fits neck; carb neck; flange across; flange width; ring diameter; ring; lip; lip dia; spigot across",
    ),
    (
        Field::Of(D::MediaArea),
        "media area; media; area; filter area; paper area; media surface; surface; paper surface; element \
         area; cloth area; gauze area; foam area; pleated area; area of media; area of paper; area total; \
         total area; area of pleats; media total; surface area; filtering area; filtering surface; filter \
         surface; effective area; pleat area; paper total; fläche; filterfläche; papierfläche; surface \
         filtrante; superficie; superficie filtrante; área; área de filtro; area media; media sq; mesh \
         area; open media; paper; cloth; gauze; foam; media in all; media all told; paper all told; spread out; unfolded",
    ),
    (
        Field::Of(D::Mass),
        "mass; weight; weighs; wt; grams; weight of part; weigh; heavy; scale weight; gewicht; masse; \
         poids; peso; masa; kg; g; ounces; on the scale",
    ),
];

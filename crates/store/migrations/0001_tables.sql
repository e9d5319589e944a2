-- One table for each entity of the catalog; a link is a row's local integer.

CREATE TABLE "person" (
    id INTEGER PRIMARY KEY,
    "name" TEXT
) STRICT;

CREATE TABLE "part" (
    id INTEGER PRIMARY KEY,
    "tag" TEXT,
    "kind" INTEGER,
    "name" TEXT,
    "maker" TEXT,
    "price_amount" REAL,
    "price_currency" TEXT,
    "price_raw" TEXT,
    "arrived" TEXT,
    "status" INTEGER,
    "place" TEXT,
    "condition" TEXT,
    "filtration" TEXT,
    "service" INTEGER,
    "note" TEXT,
    "revision_label" TEXT,
    "revised" TEXT,
    "source_note" TEXT,
    "photo_note" TEXT,
    "only_named" INTEGER,
    "table" INTEGER,
    "row" INTEGER
) STRICT;

CREATE TABLE "revision" (
    id INTEGER PRIMARY KEY,
    "part" INTEGER,
    "label" TEXT,
    "previous" INTEGER,
    "change" TEXT,
    "revised" TEXT
) STRICT;

CREATE TABLE "measurement" (
    id INTEGER PRIMARY KEY,
    "revision" INTEGER,
    "dimension" INTEGER,
    "value_si" REAL,
    "value_written" TEXT,
    "table" INTEGER,
    "row" INTEGER,
    "column" INTEGER
) STRICT;

CREATE TABLE "alias" (
    id INTEGER PRIMARY KEY,
    "spelling" TEXT,
    "part" INTEGER
) STRICT;

CREATE TABLE "photo" (
    id INTEGER PRIMARY KEY,
    "sha256" BLOB,
    "subject" INTEGER,
    "role" INTEGER,
    "orientation" INTEGER,
    "taken" TEXT,
    "file_name" TEXT,
    "size_bytes" INTEGER,
    "note" TEXT,
    "points" TEXT
) STRICT;

CREATE TABLE "listing" (
    id INTEGER PRIMARY KEY,
    "part" INTEGER,
    "seller" TEXT,
    "price_amount" REAL,
    "price_currency" TEXT,
    "price_raw" TEXT,
    "seen" TEXT,
    "note" TEXT
) STRICT;

CREATE TABLE "assembly" (
    id INTEGER PRIMARY KEY,
    "layers" BLOB,
    "name" TEXT,
    "note" TEXT
) STRICT;

CREATE TABLE "bench" (
    id INTEGER PRIMARY KEY,
    "name" TEXT,
    "meter" INTEGER,
    "factor" REAL,
    "factor_uncertainty" REAL,
    "note" TEXT
) STRICT;

CREATE TABLE "bench_range" (
    id INTEGER PRIMARY KEY,
    "bench" INTEGER,
    "full_scale_m3_s" REAL,
    "full_scale_written" TEXT,
    "step_m3_s" REAL,
    "step_written" TEXT,
    "stated_scatter_ratio" REAL,
    "stated_scatter_written" TEXT,
    "plate_diameter_m" REAL,
    "plate_diameter_written" TEXT,
    "plate_coefficient" REAL
) STRICT;

CREATE TABLE "session" (
    id INTEGER PRIMARY KEY,
    "name" TEXT,
    "date" TEXT,
    "bench" INTEGER,
    "item" INTEGER,
    "set_pressure_pa" REAL,
    "set_pressure_written" TEXT,
    "range" INTEGER,
    "air_temperature_k" REAL,
    "air_temperature_written" TEXT,
    "barometer_pa" REAL,
    "barometer_written" TEXT,
    "humidity_ratio" REAL,
    "humidity_written" TEXT,
    "stated_baseline_m3_s" REAL,
    "stated_baseline_written" TEXT,
    "stated_baseline_kind" INTEGER,
    "person" INTEGER,
    "closed" TEXT,
    "dont_care_ratio" REAL,
    "dont_care_written" TEXT,
    "note" TEXT,
    "unordered" INTEGER,
    "table" INTEGER,
    "service_note" TEXT,
    "restraint" INTEGER,
    "readings_each" INTEGER
) STRICT;

CREATE TABLE "run" (
    id INTEGER PRIMARY KEY,
    "session" INTEGER,
    "order_number" INTEGER,
    "purpose" INTEGER,
    "assembly" INTEGER,
    "item" INTEGER,
    "range" INTEGER,
    "direction" INTEGER,
    "set_pressure_pa" REAL,
    "set_pressure_written" TEXT,
    "restraint" INTEGER,
    "service" INTEGER,
    "stud" INTEGER,
    "refit" INTEGER,
    "baseline_kind" INTEGER,
    "note" TEXT,
    "photo_note" TEXT,
    "table" INTEGER,
    "row" INTEGER,
    "column" INTEGER,
    "date" TEXT
) STRICT;

CREATE TABLE "reading" (
    id INTEGER PRIMARY KEY,
    "run" INTEGER,
    "flow_m3_s" REAL,
    "flow_written" TEXT,
    "actual_pressure_pa" REAL,
    "actual_pressure_written" TEXT,
    "air_temperature_k" REAL,
    "air_temperature_written" TEXT,
    "barometer_pa" REAL,
    "barometer_written" TEXT,
    "humidity_ratio" REAL,
    "humidity_written" TEXT,
    "meter_temperature_k" REAL,
    "meter_temperature_written" TEXT,
    "clock" TEXT,
    "struck" TEXT,
    "repairs" INTEGER
) STRICT;

CREATE TABLE "claim" (
    id INTEGER PRIMARY KEY,
    "run" INTEGER,
    "stated_baseline_m3_s" REAL,
    "stated_baseline_written" TEXT,
    "stated_loss_m3_s" REAL,
    "stated_loss_written" TEXT,
    "stated_loss_percent_ratio" REAL,
    "stated_loss_percent_written" TEXT,
    "leakage_m3_s" REAL,
    "leakage_written" TEXT,
    "net_flow_m3_s" REAL,
    "net_flow_written" TEXT,
    "flow_at_set_pressure_m3_s" REAL,
    "flow_at_set_pressure_written" TEXT,
    "flow_at_reference_air_m3_s" REAL,
    "flow_at_reference_air_written" TEXT,
    "air_factor" REAL,
    "place" INTEGER,
    "readings" INTEGER,
    "baseline_session" TEXT
) STRICT;

CREATE TABLE "rating" (
    id INTEGER PRIMARY KEY,
    "item" TEXT,
    "flow_m3_s" REAL,
    "flow_written" TEXT,
    "rated_at_pa" REAL,
    "rated_at_written" TEXT,
    "place" INTEGER,
    "against_first_m3_s" REAL,
    "against_first_written" TEXT,
    "note" TEXT,
    "table" INTEGER,
    "row" INTEGER
) STRICT;

CREATE TABLE "prediction" (
    id INTEGER PRIMARY KEY,
    "person" INTEGER,
    "assembly" INTEGER,
    "session" INTEGER,
    "flow_m3_s" REAL,
    "flow_written" TEXT,
    "loss_m3_s" REAL,
    "loss_written" TEXT,
    "place" INTEGER,
    "low_m3_s" REAL,
    "low_written" TEXT,
    "high_m3_s" REAL,
    "high_written" TEXT,
    "written" TEXT,
    "sealed" TEXT,
    "note" TEXT,
    "table" INTEGER,
    "row" INTEGER,
    "session_note" TEXT
) STRICT;

CREATE TABLE "service_event" (
    id INTEGER PRIMARY KEY,
    "revision" INTEGER,
    "kind" INTEGER,
    "date" TEXT,
    "nights" INTEGER,
    "vehicle" INTEGER,
    "note" TEXT
) STRICT;

CREATE TABLE "engine" (
    id INTEGER PRIMARY KEY,
    "name" TEXT,
    "displacement_m3" REAL,
    "displacement_written" TEXT,
    "volumetric_efficiency_ratio" REAL,
    "volumetric_efficiency_written" TEXT,
    "speed_rad_s" REAL,
    "speed_written" TEXT,
    "highest_speed_rad_s" REAL,
    "highest_speed_written" TEXT,
    "note" TEXT
) STRICT;

CREATE TABLE "vehicle" (
    id INTEGER PRIMARY KEY,
    "name" TEXT,
    "hood_height_m" REAL,
    "hood_height_written" TEXT,
    "wanted_clearance_m" REAL,
    "wanted_clearance_written" TEXT,
    "engine" INTEGER,
    "note" TEXT
) STRICT;

CREATE TABLE "decision" (
    id INTEGER PRIMARY KEY,
    "subject" INTEGER,
    "kind" INTEGER,
    "rule" TEXT,
    "reason" TEXT,
    "date" TEXT,
    "person" INTEGER,
    "other" INTEGER
) STRICT;

CREATE TABLE "import_file" (
    id INTEGER PRIMARY KEY,
    "name" TEXT,
    "sha256" BLOB,
    "size_bytes" INTEGER,
    "format" TEXT,
    "encoding" TEXT,
    "delimiter" TEXT,
    "changes" INTEGER,
    "undone" INTEGER,
    "imported" TEXT
) STRICT;

CREATE TABLE "sheet_table" (
    id INTEGER PRIMARY KEY,
    "file" INTEGER,
    "sheet" TEXT,
    "kind" INTEGER,
    "header_row" INTEGER,
    "first_row" INTEGER,
    "layout" TEXT,
    "columns" TEXT,
    "page" TEXT,
    "decimal" TEXT,
    "last_row" INTEGER
) STRICT;

CREATE TABLE "sheet_rows" (
    id INTEGER PRIMARY KEY,
    "table" INTEGER,
    "first_row" INTEGER,
    "packed" BLOB
) STRICT;

CREATE TABLE "also_at" (
    id INTEGER PRIMARY KEY,
    "record" INTEGER,
    "table" INTEGER,
    "row" INTEGER,
    "column" INTEGER
) STRICT;

CREATE TABLE "quarantined" (
    id INTEGER PRIMARY KEY,
    "table" INTEGER,
    "row" INTEGER,
    "raw" TEXT,
    "reason" TEXT,
    "column" INTEGER,
    "repaired" INTEGER
) STRICT;

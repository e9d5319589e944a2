-- The ways in that screens ask for.
CREATE INDEX run_session ON "run" ("session");
CREATE INDEX reading_run ON "reading" ("run");
CREATE INDEX claim_run ON "claim" ("run");
CREATE INDEX revision_part ON "revision" ("part");
CREATE INDEX measurement_revision ON "measurement" ("revision");
CREATE INDEX part_tag ON "part" ("tag");
CREATE INDEX photo_subject ON "photo" ("subject");
CREATE INDEX run_assembly ON "run" ("assembly");
CREATE INDEX measurement_size ON "measurement" ("dimension", "value_si");

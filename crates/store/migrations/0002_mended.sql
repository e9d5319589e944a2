-- What a person said of a file's columns, and how a row that could not be taken was put right.

ALTER TABLE "import_file" ADD COLUMN "mapping" TEXT;
ALTER TABLE "quarantined" ADD COLUMN "mended" TEXT;

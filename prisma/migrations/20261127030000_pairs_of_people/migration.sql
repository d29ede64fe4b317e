-- CreateEnum
CREATE TYPE "PairKind" AS ENUM ('together', 'apart');

-- CreateTable
CREATE TABLE "PersonPair" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "otherId" UUID NOT NULL,
    "kind" "PairKind" NOT NULL,
    "note" TEXT NOT NULL DEFAULT '',
    "recordedBy" UUID NOT NULL,
    "recordedAt" TIMESTAMPTZ(3) NOT NULL,
    "takenBackAt" TIMESTAMPTZ(3),
    "takenBackBy" UUID,

    CONSTRAINT "PersonPair_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "PersonPair_pollWorkerId_idx" ON "PersonPair"("pollWorkerId");

-- CreateIndex
CREATE INDEX "PersonPair_otherId_idx" ON "PersonPair"("otherId");

-- CreateIndex
CREATE INDEX "PersonPair_countyId_takenBackAt_idx" ON "PersonPair"("countyId", "takenBackAt");

-- AddForeignKey
ALTER TABLE "PersonPair" ADD CONSTRAINT "PersonPair_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PersonPair" ADD CONSTRAINT "PersonPair_otherId_fkey" FOREIGN KEY ("otherId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Nobody is paired with themself.
ALTER TABLE "PersonPair" ADD CONSTRAINT "PersonPair_of_two" CHECK ("pollWorkerId" <> "otherId");

-- Two people are together or apart once, whoever of them was named first.
CREATE UNIQUE INDEX "PersonPair_open_once" ON "PersonPair"(LEAST("pollWorkerId", "otherId"), GREATEST("pollWorkerId", "otherId")) WHERE "takenBackAt" IS NULL;

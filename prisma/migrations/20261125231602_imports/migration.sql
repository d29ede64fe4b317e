-- CreateEnum
CREATE TYPE "ImportStatus" AS ENUM ('uploading', 'queued', 'checking', 'checked', 'applying', 'applied', 'failed', 'stopped', 'dropped');

-- AlterTable
ALTER TABLE "PollWorker" ADD COLUMN     "mergedIntoId" UUID;

-- AlterTable
ALTER TABLE "PollingPlace" ADD COLUMN     "located" BOOLEAN NOT NULL DEFAULT true;

-- CreateTable
CREATE TABLE "Opening" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollingPlaceId" UUID NOT NULL,
    "firstOn" TEXT,
    "lastOn" TEXT,
    "opensAt" TEXT NOT NULL,
    "closesAt" TEXT NOT NULL,

    CONSTRAINT "Opening_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Import" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "fileName" TEXT NOT NULL,
    "bytes" INTEGER NOT NULL DEFAULT 0,
    "format" TEXT,
    "mapping" JSONB,
    "settings" JSONB NOT NULL DEFAULT '{}',
    "status" "ImportStatus" NOT NULL DEFAULT 'uploading',
    "stage" TEXT NOT NULL DEFAULT 'uploading',
    "progress" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "cancelAsked" BOOLEAN NOT NULL DEFAULT false,
    "requestedBy" UUID NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "heartbeatAt" TIMESTAMPTZ(3),
    "finishedAt" TIMESTAMPTZ(3),
    "outcome" JSONB,
    "failure" TEXT,

    CONSTRAINT "Import_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ImportChunk" (
    "importId" UUID NOT NULL,
    "number" INTEGER NOT NULL,
    "bytes" BYTEA NOT NULL,

    CONSTRAINT "ImportChunk_pkey" PRIMARY KEY ("importId","number")
);

-- CreateTable
CREATE TABLE "ImportFinding" (
    "importId" UUID NOT NULL,
    "number" INTEGER NOT NULL,
    "kind" TEXT NOT NULL,
    "row" INTEGER,
    "column" TEXT,
    "value" TEXT,
    "message" TEXT NOT NULL,

    CONSTRAINT "ImportFinding_pkey" PRIMARY KEY ("importId","number")
);

-- CreateTable
CREATE TABLE "Nomination" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "party" TEXT NOT NULL,
    "positionKey" TEXT NOT NULL,
    "rank" INTEGER NOT NULL,
    "listedOn" TEXT NOT NULL,

    CONSTRAINT "Nomination_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PeopleMerge" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "keptId" UUID NOT NULL,
    "mergedId" UUID NOT NULL,
    "before" JSONB NOT NULL,
    "moved" JSONB NOT NULL,
    "mergedBy" UUID NOT NULL,
    "mergedAt" TIMESTAMPTZ(3) NOT NULL,
    "undoneAt" TIMESTAMPTZ(3),

    CONSTRAINT "PeopleMerge_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "NotTheSame" (
    "countyId" TEXT NOT NULL,
    "firstId" UUID NOT NULL,
    "secondId" UUID NOT NULL,
    "saidBy" UUID NOT NULL,
    "saidAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "NotTheSame_pkey" PRIMARY KEY ("firstId","secondId")
);

-- CreateIndex
CREATE INDEX "Opening_pollingPlaceId_idx" ON "Opening"("pollingPlaceId");

-- CreateIndex
CREATE INDEX "Import_countyId_createdAt_idx" ON "Import"("countyId", "createdAt");

-- CreateIndex
CREATE INDEX "ImportFinding_importId_kind_number_idx" ON "ImportFinding"("importId", "kind", "number");

-- CreateIndex
CREATE INDEX "Nomination_pollWorkerId_idx" ON "Nomination"("pollWorkerId");

-- CreateIndex
CREATE UNIQUE INDEX "Nomination_countyId_party_listedOn_positionKey_pollWorkerId_key" ON "Nomination"("countyId", "party", "listedOn", "positionKey", "pollWorkerId");

-- CreateIndex
CREATE INDEX "PeopleMerge_countyId_mergedAt_idx" ON "PeopleMerge"("countyId", "mergedAt");

-- CreateIndex
CREATE INDEX "PeopleMerge_keptId_idx" ON "PeopleMerge"("keptId");

-- CreateIndex
CREATE INDEX "NotTheSame_countyId_idx" ON "NotTheSame"("countyId");

-- CreateIndex
CREATE INDEX "PollWorker_mergedIntoId_idx" ON "PollWorker"("mergedIntoId");

-- AddForeignKey
ALTER TABLE "PollWorker" ADD CONSTRAINT "PollWorker_mergedIntoId_fkey" FOREIGN KEY ("mergedIntoId") REFERENCES "PollWorker"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Opening" ADD CONSTRAINT "Opening_pollingPlaceId_fkey" FOREIGN KEY ("pollingPlaceId") REFERENCES "PollingPlace"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ImportChunk" ADD CONSTRAINT "ImportChunk_importId_fkey" FOREIGN KEY ("importId") REFERENCES "Import"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ImportFinding" ADD CONSTRAINT "ImportFinding_importId_fkey" FOREIGN KEY ("importId") REFERENCES "Import"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Nomination" ADD CONSTRAINT "Nomination_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

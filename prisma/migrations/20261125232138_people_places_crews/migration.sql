-- CreateEnum
CREATE TYPE "ExclusionKind" AS ENUM ('candidate', 'relative', 'conflict');

-- AlterTable
ALTER TABLE "PollWorker" ADD COLUMN     "livesOutside" BOOLEAN NOT NULL DEFAULT false,
ADD COLUMN     "student" BOOLEAN NOT NULL DEFAULT false;

-- AlterTable
ALTER TABLE "PollingPlace" ADD COLUMN     "contactName" TEXT NOT NULL DEFAULT '',
ADD COLUMN     "contactPhone" TEXT NOT NULL DEFAULT '',
ADD COLUMN     "features" TEXT[] DEFAULT ARRAY[]::TEXT[],
ADD COLUMN     "keysNote" TEXT NOT NULL DEFAULT '';

-- CreateTable
CREATE TABLE "Exclusion" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "kind" "ExclusionKind" NOT NULL,
    "pollingPlaceId" UUID,
    "firstOn" TEXT NOT NULL,
    "lastOn" TEXT,
    "note" TEXT NOT NULL DEFAULT '',
    "recordedBy" UUID NOT NULL,
    "recordedAt" TIMESTAMPTZ(3) NOT NULL,
    "takenBackAt" TIMESTAMPTZ(3),
    "takenBackBy" UUID,

    CONSTRAINT "Exclusion_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PersonNote" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "text" TEXT NOT NULL,
    "accountId" UUID NOT NULL,
    "at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "PersonNote_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PayEntry" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "electionId" UUID NOT NULL,
    "positionKey" TEXT NOT NULL,
    "servedOn" TEXT NOT NULL,
    "minutes" INTEGER NOT NULL,
    "perDayCents" INTEGER NOT NULL,
    "perHourCents" INTEGER NOT NULL,
    "amountCents" INTEGER NOT NULL,
    "note" TEXT NOT NULL DEFAULT '',
    "recordedBy" UUID NOT NULL,
    "recordedAt" TIMESTAMPTZ(3) NOT NULL,
    "takenBackAt" TIMESTAMPTZ(3),
    "takenBackBy" UUID,

    CONSTRAINT "PayEntry_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "SavedView" (
    "id" UUID NOT NULL,
    "accountId" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "list" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "query" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "SavedView_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PlaceEquipment" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollingPlaceId" UUID NOT NULL,
    "kind" TEXT NOT NULL,
    "equipmentProfile" TEXT NOT NULL,
    "count" INTEGER NOT NULL,

    CONSTRAINT "PlaceEquipment_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "AccessSurvey" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollingPlaceId" UUID NOT NULL,
    "surveyedOn" TEXT NOT NULL,
    "measures" JSONB NOT NULL,
    "note" TEXT NOT NULL DEFAULT '',
    "recordedBy" UUID NOT NULL,
    "recordedAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "AccessSurvey_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PlaceMove" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "electionId" UUID NOT NULL,
    "pollingPlaceId" UUID NOT NULL,
    "before" JSONB NOT NULL,
    "after" JSONB NOT NULL,
    "reason" TEXT NOT NULL,
    "peopleTold" INTEGER NOT NULL,
    "movedBy" UUID NOT NULL,
    "movedAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "PlaceMove_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "CrewRules" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "version" INTEGER NOT NULL,
    "citation" TEXT NOT NULL,
    "ruleTable" JSONB NOT NULL,
    "demand" JSONB NOT NULL,
    "publishedBy" UUID,
    "publishedAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "CrewRules_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "CrewChange" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "electionId" UUID NOT NULL,
    "pollingPlaceId" UUID NOT NULL,
    "positionKey" TEXT NOT NULL,
    "servesOn" TEXT NOT NULL,
    "shift" TEXT NOT NULL,
    "change" INTEGER NOT NULL,
    "reason" TEXT NOT NULL,
    "changedBy" UUID NOT NULL,
    "changedAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "CrewChange_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "Exclusion_pollWorkerId_idx" ON "Exclusion"("pollWorkerId");

-- CreateIndex
CREATE INDEX "Exclusion_countyId_firstOn_idx" ON "Exclusion"("countyId", "firstOn");

-- CreateIndex
CREATE INDEX "PersonNote_pollWorkerId_at_idx" ON "PersonNote"("pollWorkerId", "at");

-- CreateIndex
CREATE INDEX "PayEntry_pollWorkerId_idx" ON "PayEntry"("pollWorkerId");

-- CreateIndex
CREATE INDEX "PayEntry_electionId_idx" ON "PayEntry"("electionId");

-- CreateIndex
CREATE UNIQUE INDEX "SavedView_accountId_countyId_list_name_key" ON "SavedView"("accountId", "countyId", "list", "name");

-- CreateIndex
CREATE UNIQUE INDEX "PlaceEquipment_pollingPlaceId_kind_equipmentProfile_key" ON "PlaceEquipment"("pollingPlaceId", "kind", "equipmentProfile");

-- CreateIndex
CREATE INDEX "AccessSurvey_pollingPlaceId_surveyedOn_idx" ON "AccessSurvey"("pollingPlaceId", "surveyedOn");

-- CreateIndex
CREATE INDEX "PlaceMove_pollingPlaceId_movedAt_idx" ON "PlaceMove"("pollingPlaceId", "movedAt");

-- CreateIndex
CREATE UNIQUE INDEX "CrewRules_countyId_version_key" ON "CrewRules"("countyId", "version");

-- CreateIndex
CREATE UNIQUE INDEX "CrewChange_electionId_pollingPlaceId_positionKey_servesOn_s_key" ON "CrewChange"("electionId", "pollingPlaceId", "positionKey", "servesOn", "shift");

-- AddForeignKey
ALTER TABLE "Exclusion" ADD CONSTRAINT "Exclusion_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PersonNote" ADD CONSTRAINT "PersonNote_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PayEntry" ADD CONSTRAINT "PayEntry_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PayEntry" ADD CONSTRAINT "PayEntry_electionId_fkey" FOREIGN KEY ("electionId") REFERENCES "Election"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PlaceEquipment" ADD CONSTRAINT "PlaceEquipment_pollingPlaceId_fkey" FOREIGN KEY ("pollingPlaceId") REFERENCES "PollingPlace"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "AccessSurvey" ADD CONSTRAINT "AccessSurvey_pollingPlaceId_fkey" FOREIGN KEY ("pollingPlaceId") REFERENCES "PollingPlace"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PlaceMove" ADD CONSTRAINT "PlaceMove_electionId_fkey" FOREIGN KEY ("electionId") REFERENCES "Election"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PlaceMove" ADD CONSTRAINT "PlaceMove_pollingPlaceId_fkey" FOREIGN KEY ("pollingPlaceId") REFERENCES "PollingPlace"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "CrewChange" ADD CONSTRAINT "CrewChange_electionId_fkey" FOREIGN KEY ("electionId") REFERENCES "Election"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "CrewChange" ADD CONSTRAINT "CrewChange_pollingPlaceId_fkey" FOREIGN KEY ("pollingPlaceId") REFERENCES "PollingPlace"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- CreateEnum
CREATE TYPE "Access" AS ENUM ('administrator', 'countyStaff', 'trainer', 'pollWorker');

-- CreateEnum
CREATE TYPE "PlaceKind" AS ENUM ('pollingPlace', 'voteCentre', 'earlyVotingSite');

-- CreateEnum
CREATE TYPE "RunStatus" AS ENUM ('queued', 'running', 'done', 'failed', 'cancelled');

-- CreateEnum
CREATE TYPE "AttemptKind" AS ENUM ('lesson', 'quiz');

-- CreateTable
CREATE TABLE "State" (
    "id" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "abbreviation" TEXT NOT NULL,
    "timeZone" TEXT NOT NULL,
    "settings" JSONB NOT NULL DEFAULT '{}',

    CONSTRAINT "State_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "County" (
    "id" TEXT NOT NULL,
    "stateId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "timeZone" TEXT NOT NULL,
    "equipmentProfile" TEXT NOT NULL,
    "settings" JSONB NOT NULL DEFAULT '{}',

    CONSTRAINT "County_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Account" (
    "id" UUID NOT NULL,
    "email" TEXT,
    "name" TEXT NOT NULL,
    "passwordHash" TEXT,
    "totpSecret" TEXT,
    "totpConfirmedAt" TIMESTAMPTZ(3),
    "totpLastStep" INTEGER,
    "locale" TEXT NOT NULL DEFAULT 'en',
    "theme" TEXT NOT NULL DEFAULT 'system',
    "textSize" TEXT NOT NULL DEFAULT 'large',
    "pollWorkerId" UUID,
    "disabledAt" TIMESTAMPTZ(3),
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Account_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Grant" (
    "id" UUID NOT NULL,
    "accountId" UUID NOT NULL,
    "access" "Access" NOT NULL,
    "countyId" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "endedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Grant_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "SignIn" (
    "id" UUID NOT NULL,
    "accountId" UUID NOT NULL,
    "method" TEXT NOT NULL,
    "device" TEXT NOT NULL,
    "sharedTablet" BOOLEAN NOT NULL DEFAULT false,
    "startedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "lastSeenAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "expiresAt" TIMESTAMPTZ(3) NOT NULL,
    "endedAt" TIMESTAMPTZ(3),
    "endReason" TEXT,

    CONSTRAINT "SignIn_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "SignInCode" (
    "id" UUID NOT NULL,
    "accountId" UUID NOT NULL,
    "kind" TEXT NOT NULL,
    "codeHash" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "expiresAt" TIMESTAMPTZ(3) NOT NULL,
    "usedAt" TIMESTAMPTZ(3),
    "revokedAt" TIMESTAMPTZ(3),

    CONSTRAINT "SignInCode_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "RateLimiterFlexible" (
    "key" TEXT NOT NULL,
    "points" INTEGER NOT NULL,
    "expire" TIMESTAMPTZ(3),

    CONSTRAINT "RateLimiterFlexible_pkey" PRIMARY KEY ("key")
);

-- CreateTable
CREATE TABLE "AuditRecord" (
    "chain" TEXT NOT NULL,
    "sequence" INTEGER NOT NULL,
    "at" TIMESTAMPTZ(3) NOT NULL,
    "actorAccountId" UUID,
    "event" TEXT NOT NULL,
    "subject" TEXT NOT NULL,
    "detail" JSONB NOT NULL,
    "retention" TEXT NOT NULL,
    "previousHash" TEXT NOT NULL,
    "hash" TEXT NOT NULL,

    CONSTRAINT "AuditRecord_pkey" PRIMARY KEY ("chain","sequence")
);

-- CreateTable
CREATE TABLE "AuditHead" (
    "chain" TEXT NOT NULL,
    "sequence" INTEGER NOT NULL,
    "hash" TEXT NOT NULL,

    CONSTRAINT "AuditHead_pkey" PRIMARY KEY ("chain")
);

-- CreateTable
CREATE TABLE "OutboxMessage" (
    "id" UUID NOT NULL,
    "countyId" TEXT,
    "accountId" UUID,
    "kind" TEXT NOT NULL,
    "toAddress" TEXT NOT NULL,
    "locale" TEXT NOT NULL,
    "subject" TEXT NOT NULL,
    "body" TEXT NOT NULL,
    "onceKey" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "sentAt" TIMESTAMPTZ(3),
    "failedAt" TIMESTAMPTZ(3),
    "attempts" INTEGER NOT NULL DEFAULT 0,
    "lastError" TEXT,

    CONSTRAINT "OutboxMessage_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PollWorker" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "countyRef" TEXT NOT NULL,
    "givenName" TEXT NOT NULL,
    "familyName" TEXT NOT NULL,
    "birthYear" INTEGER,
    "email" TEXT,
    "phone" TEXT,
    "party" TEXT,
    "homeAddress" TEXT,
    "homeLat" DOUBLE PRECISION,
    "homeLon" DOUBLE PRECISION,
    "confidentialAddress" BOOLEAN NOT NULL DEFAULT false,
    "languages" TEXT[],
    "accommodations" TEXT,
    "timeMultiplier" DOUBLE PRECISION NOT NULL DEFAULT 1,
    "electionsServed" INTEGER NOT NULL DEFAULT 0,
    "wantsPositionKey" TEXT,
    "maxTravelKm" DOUBLE PRECISION,
    "unavailableOn" TEXT[],
    "offersShift" TEXT NOT NULL DEFAULT 'full',
    "active" BOOLEAN NOT NULL DEFAULT true,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "PollWorker_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PollingPlace" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "address" TEXT NOT NULL,
    "lat" DOUBLE PRECISION NOT NULL,
    "lon" DOUBLE PRECISION NOT NULL,
    "kind" "PlaceKind" NOT NULL,
    "equipmentProfile" TEXT NOT NULL,

    CONSTRAINT "PollingPlace_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Precinct" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "registeredVoters" INTEGER NOT NULL,
    "lat" DOUBLE PRECISION NOT NULL,
    "lon" DOUBLE PRECISION NOT NULL,
    "pollingPlaceId" UUID,

    CONSTRAINT "Precinct_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Position" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "key" TEXT NOT NULL,
    "nameEn" TEXT NOT NULL,
    "nameEs" TEXT NOT NULL,
    "rank" INTEGER NOT NULL,
    "certificateKey" TEXT NOT NULL,

    CONSTRAINT "Position_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Election" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "heldOn" TEXT NOT NULL,

    CONSTRAINT "Election_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Seat" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "electionId" UUID NOT NULL,
    "pollingPlaceId" UUID NOT NULL,
    "positionId" UUID NOT NULL,
    "servesOn" TEXT NOT NULL,
    "shift" TEXT NOT NULL DEFAULT 'full',
    "number" INTEGER NOT NULL,
    "legalMinimum" BOOLEAN NOT NULL DEFAULT false,

    CONSTRAINT "Seat_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Roster" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "electionId" UUID NOT NULL,
    "version" INTEGER NOT NULL,
    "revision" INTEGER NOT NULL DEFAULT 0,
    "publishedAt" TIMESTAMPTZ(3),
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Roster_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Seating" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "rosterId" UUID NOT NULL,
    "seatId" UUID NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "locked" BOOLEAN NOT NULL DEFAULT false,
    "morningOn" TEXT,
    "afternoonOn" TEXT,

    CONSTRAINT "Seating_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "RosterRun" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "electionId" UUID NOT NULL,
    "status" "RunStatus" NOT NULL DEFAULT 'queued',
    "progress" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "stage" TEXT NOT NULL DEFAULT 'queued',
    "cancelAsked" BOOLEAN NOT NULL DEFAULT false,
    "requestedBy" UUID NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "startedAt" TIMESTAMPTZ(3),
    "finishedAt" TIMESTAMPTZ(3),
    "heartbeatAt" TIMESTAMPTZ(3),
    "fromRevision" INTEGER,
    "outcome" JSONB,
    "failure" TEXT,

    CONSTRAINT "RosterRun_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Fact" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "kind" TEXT NOT NULL,
    "topic" TEXT NOT NULL,
    "happenedOn" TEXT NOT NULL,
    "scoreFraction" DOUBLE PRECISION,
    "equipmentProfile" TEXT,
    "electionId" UUID,
    "revokesFactId" UUID,
    "recordedBy" UUID,
    "recordedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "onceKey" TEXT,

    CONSTRAINT "Fact_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "RuleSet" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "certificateKey" TEXT NOT NULL,
    "version" INTEGER NOT NULL,
    "effectiveFrom" TEXT NOT NULL,
    "requirement" JSONB NOT NULL,
    "citation" TEXT NOT NULL,
    "publishedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "RuleSet_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "CertificateSpan" (
    "pollWorkerId" UUID NOT NULL,
    "certificateKey" TEXT NOT NULL,
    "validFrom" TEXT NOT NULL,
    "validUntil" TEXT,
    "countyId" TEXT NOT NULL,

    CONSTRAINT "CertificateSpan_pkey" PRIMARY KEY ("pollWorkerId","certificateKey","validFrom")
);

-- CreateTable
CREATE TABLE "DefinitionVersion" (
    "hash" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "key" TEXT NOT NULL,
    "definition" JSONB NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "DefinitionVersion_pkey" PRIMARY KEY ("hash")
);

-- CreateTable
CREATE TABLE "Attempt" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "kind" "AttemptKind" NOT NULL,
    "key" TEXT NOT NULL,
    "definitionHash" TEXT NOT NULL,
    "equipmentProfile" TEXT NOT NULL,
    "locale" TEXT NOT NULL,
    "seed" INTEGER NOT NULL,
    "form" JSONB,
    "startedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "dueAt" TIMESTAMPTZ(3),
    "finishedAt" TIMESTAMPTZ(3),
    "scoreFraction" DOUBLE PRECISION,
    "passed" BOOLEAN,
    "result" JSONB,

    CONSTRAINT "Attempt_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "AttemptEvent" (
    "attemptId" UUID NOT NULL,
    "sequence" INTEGER NOT NULL,
    "event" JSONB NOT NULL,
    "at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "AttemptEvent_pkey" PRIMARY KEY ("attemptId","sequence")
);

-- CreateIndex
CREATE UNIQUE INDEX "Account_email_key" ON "Account"("email");

-- CreateIndex
CREATE UNIQUE INDEX "Account_pollWorkerId_key" ON "Account"("pollWorkerId");

-- CreateIndex
CREATE INDEX "Grant_accountId_idx" ON "Grant"("accountId");

-- CreateIndex
CREATE INDEX "Grant_countyId_idx" ON "Grant"("countyId");

-- CreateIndex
CREATE INDEX "SignIn_accountId_startedAt_idx" ON "SignIn"("accountId", "startedAt");

-- CreateIndex
CREATE UNIQUE INDEX "SignInCode_codeHash_key" ON "SignInCode"("codeHash");

-- CreateIndex
CREATE INDEX "SignInCode_accountId_kind_idx" ON "SignInCode"("accountId", "kind");

-- CreateIndex
CREATE INDEX "AuditRecord_subject_idx" ON "AuditRecord"("subject");

-- CreateIndex
CREATE UNIQUE INDEX "OutboxMessage_onceKey_key" ON "OutboxMessage"("onceKey");

-- CreateIndex
CREATE INDEX "OutboxMessage_createdAt_idx" ON "OutboxMessage"("createdAt");

-- CreateIndex
CREATE INDEX "PollWorker_countyId_familyName_givenName_idx" ON "PollWorker"("countyId", "familyName", "givenName");

-- CreateIndex
CREATE UNIQUE INDEX "PollWorker_countyId_countyRef_key" ON "PollWorker"("countyId", "countyRef");

-- CreateIndex
CREATE UNIQUE INDEX "PollingPlace_countyId_code_key" ON "PollingPlace"("countyId", "code");

-- CreateIndex
CREATE INDEX "Precinct_pollingPlaceId_idx" ON "Precinct"("pollingPlaceId");

-- CreateIndex
CREATE UNIQUE INDEX "Precinct_countyId_code_key" ON "Precinct"("countyId", "code");

-- CreateIndex
CREATE UNIQUE INDEX "Position_countyId_key_key" ON "Position"("countyId", "key");

-- CreateIndex
CREATE UNIQUE INDEX "Election_countyId_heldOn_name_key" ON "Election"("countyId", "heldOn", "name");

-- CreateIndex
CREATE UNIQUE INDEX "Seat_electionId_pollingPlaceId_positionId_servesOn_shift_nu_key" ON "Seat"("electionId", "pollingPlaceId", "positionId", "servesOn", "shift", "number");

-- CreateIndex
CREATE UNIQUE INDEX "Roster_electionId_version_key" ON "Roster"("electionId", "version");

-- CreateIndex
CREATE INDEX "Seating_pollWorkerId_idx" ON "Seating"("pollWorkerId");

-- CreateIndex
CREATE UNIQUE INDEX "Seating_rosterId_seatId_key" ON "Seating"("rosterId", "seatId");

-- CreateIndex
CREATE UNIQUE INDEX "Seating_rosterId_pollWorkerId_morningOn_key" ON "Seating"("rosterId", "pollWorkerId", "morningOn");

-- CreateIndex
CREATE UNIQUE INDEX "Seating_rosterId_pollWorkerId_afternoonOn_key" ON "Seating"("rosterId", "pollWorkerId", "afternoonOn");

-- CreateIndex
CREATE INDEX "RosterRun_electionId_createdAt_idx" ON "RosterRun"("electionId", "createdAt");

-- CreateIndex
CREATE UNIQUE INDEX "Fact_revokesFactId_key" ON "Fact"("revokesFactId");

-- CreateIndex
CREATE UNIQUE INDEX "Fact_onceKey_key" ON "Fact"("onceKey");

-- CreateIndex
CREATE INDEX "Fact_pollWorkerId_idx" ON "Fact"("pollWorkerId");

-- CreateIndex
CREATE INDEX "Fact_countyId_idx" ON "Fact"("countyId");

-- CreateIndex
CREATE UNIQUE INDEX "RuleSet_countyId_certificateKey_version_key" ON "RuleSet"("countyId", "certificateKey", "version");

-- CreateIndex
CREATE INDEX "CertificateSpan_countyId_certificateKey_validUntil_idx" ON "CertificateSpan"("countyId", "certificateKey", "validUntil");

-- CreateIndex
CREATE INDEX "Attempt_pollWorkerId_kind_key_startedAt_idx" ON "Attempt"("pollWorkerId", "kind", "key", "startedAt");

-- AddForeignKey
ALTER TABLE "County" ADD CONSTRAINT "County_stateId_fkey" FOREIGN KEY ("stateId") REFERENCES "State"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Account" ADD CONSTRAINT "Account_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Grant" ADD CONSTRAINT "Grant_accountId_fkey" FOREIGN KEY ("accountId") REFERENCES "Account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SignIn" ADD CONSTRAINT "SignIn_accountId_fkey" FOREIGN KEY ("accountId") REFERENCES "Account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SignInCode" ADD CONSTRAINT "SignInCode_accountId_fkey" FOREIGN KEY ("accountId") REFERENCES "Account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PollWorker" ADD CONSTRAINT "PollWorker_countyId_fkey" FOREIGN KEY ("countyId") REFERENCES "County"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PollingPlace" ADD CONSTRAINT "PollingPlace_countyId_fkey" FOREIGN KEY ("countyId") REFERENCES "County"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Precinct" ADD CONSTRAINT "Precinct_countyId_fkey" FOREIGN KEY ("countyId") REFERENCES "County"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Precinct" ADD CONSTRAINT "Precinct_pollingPlaceId_fkey" FOREIGN KEY ("pollingPlaceId") REFERENCES "PollingPlace"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Position" ADD CONSTRAINT "Position_countyId_fkey" FOREIGN KEY ("countyId") REFERENCES "County"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Election" ADD CONSTRAINT "Election_countyId_fkey" FOREIGN KEY ("countyId") REFERENCES "County"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Seat" ADD CONSTRAINT "Seat_electionId_fkey" FOREIGN KEY ("electionId") REFERENCES "Election"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Seat" ADD CONSTRAINT "Seat_pollingPlaceId_fkey" FOREIGN KEY ("pollingPlaceId") REFERENCES "PollingPlace"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Seat" ADD CONSTRAINT "Seat_positionId_fkey" FOREIGN KEY ("positionId") REFERENCES "Position"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Roster" ADD CONSTRAINT "Roster_electionId_fkey" FOREIGN KEY ("electionId") REFERENCES "Election"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Seating" ADD CONSTRAINT "Seating_rosterId_fkey" FOREIGN KEY ("rosterId") REFERENCES "Roster"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Seating" ADD CONSTRAINT "Seating_seatId_fkey" FOREIGN KEY ("seatId") REFERENCES "Seat"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Seating" ADD CONSTRAINT "Seating_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "RosterRun" ADD CONSTRAINT "RosterRun_electionId_fkey" FOREIGN KEY ("electionId") REFERENCES "Election"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Fact" ADD CONSTRAINT "Fact_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "CertificateSpan" ADD CONSTRAINT "CertificateSpan_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Attempt" ADD CONSTRAINT "Attempt_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Attempt" ADD CONSTRAINT "Attempt_definitionHash_fkey" FOREIGN KEY ("definitionHash") REFERENCES "DefinitionVersion"("hash") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "AttemptEvent" ADD CONSTRAINT "AttemptEvent_attemptId_fkey" FOREIGN KEY ("attemptId") REFERENCES "Attempt"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- What schema.prisma can't say: records that only grow, and rosters that stay as published.
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% only grows: % is refused', TG_TABLE_NAME, TG_OP;
END $$;
CREATE TRIGGER audit_only_grows BEFORE UPDATE OR DELETE OR TRUNCATE ON "AuditRecord"
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER facts_only_grow BEFORE UPDATE OR DELETE OR TRUNCATE ON "Fact"
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER events_only_grow BEFORE UPDATE OR DELETE OR TRUNCATE ON "AttemptEvent"
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

CREATE FUNCTION refuse_published() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE touched uuid := CASE WHEN TG_OP = 'DELETE' THEN OLD."rosterId" ELSE NEW."rosterId" END;
BEGIN
  IF EXISTS (SELECT 1 FROM "Roster" WHERE id = touched AND "publishedAt" IS NOT NULL) THEN
    RAISE EXCEPTION 'a published roster stays as it is';
  END IF;
  RETURN COALESCE(NEW, OLD);
END $$;
CREATE TRIGGER published_stays BEFORE INSERT OR UPDATE OR DELETE ON "Seating"
  FOR EACH ROW EXECUTE FUNCTION refuse_published();

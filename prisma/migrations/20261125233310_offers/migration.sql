-- CreateEnum
CREATE TYPE "OfferEventKind" AS ENUM ('offered', 'extended', 'accepted', 'declined', 'askedElsewhere', 'withdrawn', 'called', 'returned');

-- CreateEnum
CREATE TYPE "OfferVia" AS ENUM ('mail', 'letter', 'page', 'link', 'phone', 'paper', 'office');

-- CreateTable
CREATE TABLE "OfferSending" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "electionId" UUID NOT NULL,
    "rosterId" UUID NOT NULL,
    "answerBy" TEXT NOT NULL,
    "requestedBy" UUID NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL,
    "heartbeatAt" TIMESTAMPTZ(3) NOT NULL,
    "finishedAt" TIMESTAMPTZ(3),
    "cancelAsked" BOOLEAN NOT NULL DEFAULT false,
    "people" INTEGER NOT NULL,
    "done" INTEGER NOT NULL DEFAULT 0,

    CONSTRAINT "OfferSending_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Offer" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "electionId" UUID NOT NULL,
    "seatId" UUID NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "sendingId" UUID,

    CONSTRAINT "Offer_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "OfferEvent" (
    "offerId" UUID NOT NULL,
    "sequence" INTEGER NOT NULL,
    "countyId" TEXT NOT NULL,
    "kind" "OfferEventKind" NOT NULL,
    "at" TIMESTAMPTZ(3) NOT NULL,
    "accountId" UUID,
    "via" "OfferVia" NOT NULL,
    "answerBy" TEXT,
    "reason" TEXT,
    "note" TEXT NOT NULL DEFAULT '',

    CONSTRAINT "OfferEvent_pkey" PRIMARY KEY ("offerId","sequence")
);

-- CreateIndex
CREATE INDEX "OfferSending_electionId_createdAt_idx" ON "OfferSending"("electionId", "createdAt");

-- CreateIndex
CREATE INDEX "Offer_electionId_idx" ON "Offer"("electionId");

-- CreateIndex
CREATE INDEX "Offer_pollWorkerId_idx" ON "Offer"("pollWorkerId");

-- CreateIndex
CREATE INDEX "Offer_sendingId_idx" ON "Offer"("sendingId");

-- CreateIndex
CREATE UNIQUE INDEX "Offer_seatId_pollWorkerId_key" ON "Offer"("seatId", "pollWorkerId");

-- AddForeignKey
ALTER TABLE "OfferSending" ADD CONSTRAINT "OfferSending_electionId_fkey" FOREIGN KEY ("electionId") REFERENCES "Election"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Offer" ADD CONSTRAINT "Offer_electionId_fkey" FOREIGN KEY ("electionId") REFERENCES "Election"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Offer" ADD CONSTRAINT "Offer_seatId_fkey" FOREIGN KEY ("seatId") REFERENCES "Seat"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Offer" ADD CONSTRAINT "Offer_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Offer" ADD CONSTRAINT "Offer_sendingId_fkey" FOREIGN KEY ("sendingId") REFERENCES "OfferSending"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "OfferEvent" ADD CONSTRAINT "OfferEvent_offerId_fkey" FOREIGN KEY ("offerId") REFERENCES "Offer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- What schema.prisma can't say: events only grow.
CREATE TRIGGER offer_events_only_grow BEFORE UPDATE OR DELETE OR TRUNCATE ON "OfferEvent"
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

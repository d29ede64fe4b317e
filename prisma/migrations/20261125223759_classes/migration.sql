-- CreateEnum
CREATE TYPE "ReminderChannel" AS ENUM ('mail', 'letter', 'none');

-- AlterTable
ALTER TABLE "Fact" ADD COLUMN     "witnessedBy" TEXT;

-- CreateTable
CREATE TABLE "TrainingClass" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "topic" TEXT NOT NULL,
    "positionKey" TEXT,
    "locale" TEXT NOT NULL DEFAULT 'en',
    "placeName" TEXT NOT NULL,
    "placeAddress" TEXT NOT NULL,
    "startsAt" TIMESTAMPTZ(3) NOT NULL,
    "endsAt" TIMESTAMPTZ(3) NOT NULL,
    "seats" INTEGER NOT NULL,
    "trainerName" TEXT NOT NULL,
    "note" TEXT NOT NULL DEFAULT '',
    "revision" INTEGER NOT NULL DEFAULT 0,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "cancelledAt" TIMESTAMPTZ(3),
    "closedAt" TIMESTAMPTZ(3),

    CONSTRAINT "TrainingClass_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ClassBooking" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "classId" UUID NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "bookedAt" TIMESTAMPTZ(3) NOT NULL,
    "cancelledAt" TIMESTAMPTZ(3),
    "signedInAt" TIMESTAMPTZ(3),
    "factId" UUID,

    CONSTRAINT "ClassBooking_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ReminderBatch" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "electionId" UUID NOT NULL,
    "requestedBy" UUID NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "finishedAt" TIMESTAMPTZ(3),
    "skipped" INTEGER NOT NULL DEFAULT 0,

    CONSTRAINT "ReminderBatch_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Reminder" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "batchId" UUID NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "channel" "ReminderChannel" NOT NULL,
    "locale" TEXT NOT NULL,
    "outboxMessageId" UUID,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "returnedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Reminder_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ReminderMatter" (
    "onceKey" TEXT NOT NULL,
    "reminderId" UUID NOT NULL,
    "certificateKey" TEXT NOT NULL,
    "lapsesOn" TEXT NOT NULL,

    CONSTRAINT "ReminderMatter_pkey" PRIMARY KEY ("onceKey")
);

-- CreateTable
CREATE TABLE "Contact" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "outcome" TEXT NOT NULL,
    "note" TEXT NOT NULL DEFAULT '',
    "accountId" UUID NOT NULL,
    "at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Contact_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "TimedTask" (
    "name" TEXT NOT NULL,
    "startedAt" TIMESTAMPTZ(3) NOT NULL,
    "finishedAt" TIMESTAMPTZ(3),
    "said" TEXT,
    "failed" BOOLEAN NOT NULL DEFAULT false,

    CONSTRAINT "TimedTask_pkey" PRIMARY KEY ("name")
);

-- CreateIndex
CREATE INDEX "TrainingClass_countyId_startsAt_idx" ON "TrainingClass"("countyId", "startsAt");

-- CreateIndex
CREATE INDEX "ClassBooking_pollWorkerId_idx" ON "ClassBooking"("pollWorkerId");

-- CreateIndex
CREATE UNIQUE INDEX "ClassBooking_classId_pollWorkerId_key" ON "ClassBooking"("classId", "pollWorkerId");

-- CreateIndex
CREATE INDEX "ReminderBatch_countyId_createdAt_idx" ON "ReminderBatch"("countyId", "createdAt");

-- CreateIndex
CREATE UNIQUE INDEX "Reminder_outboxMessageId_key" ON "Reminder"("outboxMessageId");

-- CreateIndex
CREATE INDEX "Reminder_pollWorkerId_idx" ON "Reminder"("pollWorkerId");

-- CreateIndex
CREATE UNIQUE INDEX "Reminder_batchId_pollWorkerId_key" ON "Reminder"("batchId", "pollWorkerId");

-- CreateIndex
CREATE INDEX "ReminderMatter_reminderId_idx" ON "ReminderMatter"("reminderId");

-- CreateIndex
CREATE INDEX "Contact_pollWorkerId_at_idx" ON "Contact"("pollWorkerId", "at");

-- AddForeignKey
ALTER TABLE "ClassBooking" ADD CONSTRAINT "ClassBooking_classId_fkey" FOREIGN KEY ("classId") REFERENCES "TrainingClass"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ClassBooking" ADD CONSTRAINT "ClassBooking_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Reminder" ADD CONSTRAINT "Reminder_batchId_fkey" FOREIGN KEY ("batchId") REFERENCES "ReminderBatch"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Reminder" ADD CONSTRAINT "Reminder_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ReminderMatter" ADD CONSTRAINT "ReminderMatter_reminderId_fkey" FOREIGN KEY ("reminderId") REFERENCES "Reminder"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Contact" ADD CONSTRAINT "Contact_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

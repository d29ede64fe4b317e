-- AlterTable
ALTER TABLE "IssuerKey" ADD COLUMN     "expiredAt" TIMESTAMPTZ(3);

-- AlterTable
ALTER TABLE "OutboxMessage" ADD COLUMN     "sendingAt" TIMESTAMPTZ(3),
ADD COLUMN     "uncertain" BOOLEAN NOT NULL DEFAULT false;

-- CreateIndex
CREATE INDEX "OutboxMessage_sendingAt_idx" ON "OutboxMessage"("sendingAt");

-- What was being sent under the earlier mark: the tries are long over.
UPDATE "OutboxMessage" SET "sendingAt" = "createdAt", "lastError" = NULL WHERE "lastError" = 'sending';

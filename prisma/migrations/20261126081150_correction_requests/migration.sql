-- CreateTable
CREATE TABLE "CorrectionRequest" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "text" TEXT NOT NULL,
    "askedAt" TIMESTAMPTZ(3) NOT NULL,
    "answeredAt" TIMESTAMPTZ(3),
    "answeredBy" UUID,
    "answer" TEXT NOT NULL DEFAULT '',

    CONSTRAINT "CorrectionRequest_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "CorrectionRequest_pollWorkerId_idx" ON "CorrectionRequest"("pollWorkerId");

-- CreateIndex
CREATE INDEX "CorrectionRequest_countyId_answeredAt_idx" ON "CorrectionRequest"("countyId", "answeredAt");

-- AddForeignKey
ALTER TABLE "CorrectionRequest" ADD CONSTRAINT "CorrectionRequest_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

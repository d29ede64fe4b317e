-- AlterTable
ALTER TABLE "Attempt" ADD COLUMN     "onPaper" BOOLEAN NOT NULL DEFAULT false;

-- CreateTable
CREATE TABLE "PaperEntry" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "attemptId" UUID NOT NULL,
    "round" INTEGER NOT NULL,
    "satOn" TEXT NOT NULL,
    "answers" JSONB NOT NULL,
    "enteredBy" UUID NOT NULL,
    "enteredAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "PaperEntry_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Panel" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "quizKey" TEXT NOT NULL,
    "heldOn" TEXT NOT NULL,
    "items" JSONB NOT NULL,
    "judges" JSONB NOT NULL,
    "ratings" JSONB NOT NULL,
    "revision" INTEGER NOT NULL DEFAULT 0,
    "createdBy" UUID NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "closedAt" TIMESTAMPTZ(3),
    "adoptedAt" TIMESTAMPTZ(3),
    "cutFraction" DOUBLE PRECISION,

    CONSTRAINT "Panel_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Appeal" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "attemptId" UUID NOT NULL,
    "questionId" TEXT NOT NULL,
    "text" TEXT NOT NULL,
    "enteredBy" UUID NOT NULL,
    "enteredAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "decision" TEXT,
    "decisionText" TEXT,
    "decidedBy" UUID,
    "decidedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Appeal_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Remark" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "quizKey" TEXT NOT NULL,
    "questionId" TEXT NOT NULL,
    "questionVersion" INTEGER NOT NULL,
    "mend" JSONB NOT NULL,
    "reason" TEXT NOT NULL,
    "outcome" JSONB NOT NULL,
    "appliedBy" UUID NOT NULL,
    "appliedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Remark_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "QuizStatistics" (
    "countyId" TEXT NOT NULL,
    "quizKey" TEXT NOT NULL,
    "computedAt" TIMESTAMPTZ(3) NOT NULL,
    "attempts" INTEGER NOT NULL,
    "result" JSONB NOT NULL,

    CONSTRAINT "QuizStatistics_pkey" PRIMARY KEY ("countyId","quizKey")
);

-- CreateIndex
CREATE UNIQUE INDEX "PaperEntry_attemptId_round_key" ON "PaperEntry"("attemptId", "round");

-- CreateIndex
CREATE INDEX "Panel_countyId_quizKey_heldOn_idx" ON "Panel"("countyId", "quizKey", "heldOn");

-- CreateIndex
CREATE INDEX "Appeal_countyId_decision_idx" ON "Appeal"("countyId", "decision");

-- CreateIndex
CREATE UNIQUE INDEX "Appeal_attemptId_questionId_key" ON "Appeal"("attemptId", "questionId");

-- CreateIndex
CREATE UNIQUE INDEX "Remark_countyId_quizKey_questionId_questionVersion_key" ON "Remark"("countyId", "quizKey", "questionId", "questionVersion");

-- CreateIndex
CREATE INDEX "Attempt_countyId_kind_key_idx" ON "Attempt"("countyId", "kind", "key");

-- AddForeignKey
ALTER TABLE "PaperEntry" ADD CONSTRAINT "PaperEntry_attemptId_fkey" FOREIGN KEY ("attemptId") REFERENCES "Attempt"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Appeal" ADD CONSTRAINT "Appeal_attemptId_fkey" FOREIGN KEY ("attemptId") REFERENCES "Attempt"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- What was typed from paper and what was re-marked is never changed or deleted.
CREATE TRIGGER paper_entries_only_grow BEFORE UPDATE OR DELETE OR TRUNCATE ON "PaperEntry"
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER remarks_only_grow BEFORE UPDATE OR DELETE OR TRUNCATE ON "Remark"
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

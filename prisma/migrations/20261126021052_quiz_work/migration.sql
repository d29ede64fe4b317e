-- CreateEnum
CREATE TYPE "QuizWorkKind" AS ENUM ('statistics', 'remark');

-- AlterTable
ALTER TABLE "Appeal" ADD COLUMN     "askedOn" TEXT;

-- AlterTable
ALTER TABLE "Attempt" ADD COLUMN     "withdrawnAt" TIMESTAMPTZ(3),
ADD COLUMN     "withdrawnWhy" TEXT;

-- CreateTable
CREATE TABLE "QuizWork" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "quizKey" TEXT NOT NULL,
    "kind" "QuizWorkKind" NOT NULL,
    "order" JSONB NOT NULL DEFAULT '{}',
    "status" "RunStatus" NOT NULL DEFAULT 'queued',
    "stage" TEXT NOT NULL DEFAULT 'queued',
    "progress" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "cancelAsked" BOOLEAN NOT NULL DEFAULT false,
    "failure" TEXT,
    "requestedBy" UUID NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "heartbeatAt" TIMESTAMPTZ(3),
    "finishedAt" TIMESTAMPTZ(3),

    CONSTRAINT "QuizWork_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "QuizWork_countyId_quizKey_kind_createdAt_idx" ON "QuizWork"("countyId", "quizKey", "kind", "createdAt");

-- CreateTable
CREATE TABLE "DuplicateSearch" (
    "countyId" TEXT NOT NULL,
    "askedAt" TIMESTAMPTZ(3) NOT NULL,
    "finishedAt" TIMESTAMPTZ(3),
    "people" INTEGER NOT NULL DEFAULT 0,
    "pairs" JSONB NOT NULL DEFAULT '[]',

    CONSTRAINT "DuplicateSearch_pkey" PRIMARY KEY ("countyId")
);

-- CreateTable
CREATE TABLE "SeatingBefore" (
    "runId" UUID NOT NULL,
    "seatId" UUID NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "locked" BOOLEAN NOT NULL,

    CONSTRAINT "SeatingBefore_pkey" PRIMARY KEY ("runId","seatId")
);

-- CreateTable
CREATE TABLE "PaperOrder" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "electionId" UUID NOT NULL,
    "status" "RunStatus" NOT NULL DEFAULT 'queued',
    "progress" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "stage" TEXT NOT NULL DEFAULT 'queued',
    "cancelAsked" BOOLEAN NOT NULL DEFAULT false,
    "requestedBy" UUID NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "heartbeatAt" TIMESTAMPTZ(3),
    "finishedAt" TIMESTAMPTZ(3),
    "failure" TEXT,
    "rosterId" UUID,
    "revision" INTEGER,

    CONSTRAINT "PaperOrder_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PaperFile" (
    "orderId" UUID NOT NULL,
    "number" INTEGER NOT NULL,
    "name" TEXT NOT NULL,
    "title" TEXT NOT NULL,
    "pages" INTEGER NOT NULL,
    "bytes" INTEGER NOT NULL,
    "content" BYTEA NOT NULL,

    CONSTRAINT "PaperFile_pkey" PRIMARY KEY ("orderId","number")
);

-- CreateIndex
CREATE INDEX "PaperOrder_electionId_createdAt_idx" ON "PaperOrder"("electionId", "createdAt");

-- AddForeignKey
ALTER TABLE "SeatingBefore" ADD CONSTRAINT "SeatingBefore_runId_fkey" FOREIGN KEY ("runId") REFERENCES "RosterRun"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PaperOrder" ADD CONSTRAINT "PaperOrder_electionId_fkey" FOREIGN KEY ("electionId") REFERENCES "Election"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PaperFile" ADD CONSTRAINT "PaperFile_orderId_fkey" FOREIGN KEY ("orderId") REFERENCES "PaperOrder"("id") ON DELETE CASCADE ON UPDATE CASCADE;

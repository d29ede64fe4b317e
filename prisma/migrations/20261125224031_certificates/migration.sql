-- CreateTable
CREATE TABLE "Certificate" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "pollWorkerId" UUID NOT NULL,
    "certificateKey" TEXT NOT NULL,
    "number" INTEGER NOT NULL DEFAULT 1,
    "serial" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL,
    "revokedAt" TIMESTAMPTZ(3),
    "revokedBecause" TEXT,
    "revokedFactId" UUID,

    CONSTRAINT "Certificate_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "CertificateIssue" (
    "id" UUID NOT NULL,
    "certificateId" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "validFrom" TEXT NOT NULL,
    "validUntil" TEXT,
    "holderName" TEXT NOT NULL,
    "statusNumber" SERIAL NOT NULL,
    "issuedAt" TIMESTAMPTZ(3) NOT NULL,
    "withdrawnAt" TIMESTAMPTZ(3),
    "credential" TEXT,
    "keyId" UUID,

    CONSTRAINT "CertificateIssue_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "IssuerKey" (
    "id" UUID NOT NULL,
    "countyId" TEXT NOT NULL,
    "kid" TEXT NOT NULL,
    "publicKey" JSONB NOT NULL,
    "sealedPrivate" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL,
    "retiredAt" TIMESTAMPTZ(3),
    "withdrawnAt" TIMESTAMPTZ(3),

    CONSTRAINT "IssuerKey_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE UNIQUE INDEX "Certificate_serial_key" ON "Certificate"("serial");

-- CreateIndex
CREATE UNIQUE INDEX "Certificate_revokedFactId_key" ON "Certificate"("revokedFactId");

-- CreateIndex
CREATE INDEX "Certificate_countyId_idx" ON "Certificate"("countyId");

-- CreateIndex
CREATE UNIQUE INDEX "Certificate_pollWorkerId_certificateKey_number_key" ON "Certificate"("pollWorkerId", "certificateKey", "number");

-- CreateIndex
CREATE UNIQUE INDEX "CertificateIssue_statusNumber_key" ON "CertificateIssue"("statusNumber");

-- CreateIndex
CREATE INDEX "CertificateIssue_certificateId_idx" ON "CertificateIssue"("certificateId");

-- CreateIndex
CREATE INDEX "CertificateIssue_countyId_withdrawnAt_idx" ON "CertificateIssue"("countyId", "withdrawnAt");

-- CreateIndex
CREATE INDEX "CertificateIssue_keyId_idx" ON "CertificateIssue"("keyId");

-- CreateIndex
CREATE UNIQUE INDEX "IssuerKey_kid_key" ON "IssuerKey"("kid");

-- CreateIndex
CREATE INDEX "IssuerKey_countyId_createdAt_idx" ON "IssuerKey"("countyId", "createdAt");

-- AddForeignKey
ALTER TABLE "Certificate" ADD CONSTRAINT "Certificate_pollWorkerId_fkey" FOREIGN KEY ("pollWorkerId") REFERENCES "PollWorker"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "CertificateIssue" ADD CONSTRAINT "CertificateIssue_certificateId_fkey" FOREIGN KEY ("certificateId") REFERENCES "Certificate"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "CertificateIssue" ADD CONSTRAINT "CertificateIssue_keyId_fkey" FOREIGN KEY ("keyId") REFERENCES "IssuerKey"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- DropIndex
DROP INDEX "Offer_seatId_pollWorkerId_key";

-- DropIndex
DROP INDEX "Seating_rosterId_seatId_key";

-- AlterTable
ALTER TABLE "Offer" ADD COLUMN     "shift" TEXT NOT NULL DEFAULT 'full';

-- AlterTable
ALTER TABLE "SeatingBefore" DROP CONSTRAINT "SeatingBefore_pkey",
ADD COLUMN     "shift" TEXT NOT NULL DEFAULT 'full',
ADD CONSTRAINT "SeatingBefore_pkey" PRIMARY KEY ("runId", "seatId", "shift");

-- CreateIndex
CREATE UNIQUE INDEX "Offer_seatId_pollWorkerId_shift_key" ON "Offer"("seatId", "pollWorkerId", "shift");

-- CreateIndex
CREATE UNIQUE INDEX "Seating_rosterId_seatId_morningOn_key" ON "Seating"("rosterId", "seatId", "morningOn");

-- CreateIndex
CREATE UNIQUE INDEX "Seating_rosterId_seatId_afternoonOn_key" ON "Seating"("rosterId", "seatId", "afternoonOn");

-- A row takes one half of the day at least; without a date it would escape the keys.
ALTER TABLE "Seating" ADD CONSTRAINT "Seating_takes_time" CHECK ("morningOn" IS NOT NULL OR "afternoonOn" IS NOT NULL);

-- Until now everybody took the whole of their seat's shift.
UPDATE "Offer" o SET shift = s.shift FROM "Seat" s WHERE s.id = o."seatId" AND s.shift <> 'full';
UPDATE "SeatingBefore" b SET shift = s.shift FROM "Seat" s WHERE s.id = b."seatId" AND s.shift <> 'full';

-- AlterTable
ALTER TABLE "PaperOrder" ADD COLUMN     "sendingId" UUID;

-- AddForeignKey
ALTER TABLE "PaperOrder" ADD CONSTRAINT "PaperOrder_sendingId_fkey" FOREIGN KEY ("sendingId") REFERENCES "OfferSending"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AlterTable
ALTER TABLE "PollWorker" ADD COLUMN     "homePrecinct" TEXT;

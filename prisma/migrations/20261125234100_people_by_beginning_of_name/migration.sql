-- Serves: the people list, searched as you type by the beginning of a name or number in any case. Expressions can't be
-- said in schema.prisma; the official tool leaves such indexes alone.
CREATE INDEX "PollWorker_family_begins" ON "PollWorker" ("countyId", lower("familyName") text_pattern_ops);
CREATE INDEX "PollWorker_given_begins" ON "PollWorker" ("countyId", lower("givenName") text_pattern_ops);
CREATE INDEX "PollWorker_ref_begins" ON "PollWorker" ("countyId", lower("countyRef") text_pattern_ops);

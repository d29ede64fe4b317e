// Loaded into each process that the start command makes: when the start command is gone, for whatever reason, so are they.
process.channel?.unref()
process.on('disconnect', () => process.exit(1))

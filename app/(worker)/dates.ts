export * from '@/lib/kernel/date-words'

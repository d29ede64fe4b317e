import { Prisma } from '@/prisma/client/client'

/** Great-circle kilometres between two points, each given as two expressions in degrees: the formula of
 *  lib/places/core/distance.ts as SQL. Null where one of them is. */
export const kmSql = (from: { lat: Prisma.Sql; lon: Prisma.Sql }, to: { lat: Prisma.Sql; lon: Prisma.Sql }) =>
  Prisma.sql`(2 * 6371.0087714 * asin(least(1, sqrt(sin(radians(${to.lat} - ${from.lat}) / 2) ^ 2
    + cos(radians(${from.lat})) * cos(radians(${to.lat})) * sin(radians(${to.lon} - ${from.lon}) / 2) ^ 2))))`

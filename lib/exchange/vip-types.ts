/** The parts of the VIP 5.2 schema that are read here, as its XSD has them (tests/reference/vip/vip_spec_v5.2.xsd):
 *  which elements an object may have, in which order, how often, of which type. Everything else in a file must be a
 *  known object with an id of its own, and well-formed. */

export type ValueType =
  | 'string'
  | 'boolean'
  | 'date'
  | 'dateTime'
  | 'double'
  | 'time'
  | 'idref'
  | 'idrefs'
  | 'uri'
  | 'district'
  | 'identifier'

export interface Part {
  name: string
  min: 0 | 1
  max: number
  of: ValueType | Shape
  /** Parts of one choice exclude each other; one of them must be there. */
  choice?: string
}

/** `all`: in any order; `sequence`: in this one. `open`: whatever stands inside is not looked at. */
export type Shape = { kind: 'sequence' | 'all'; parts: Part[] } | { kind: 'open' }

const part = (name: string, of: Part['of'], min: 0 | 1 = 1, max = 1): Part => ({ name, of, min, max })
const maybe = (name: string, of: Part['of'], max = 1): Part => part(name, of, 0, max)
const many = Number.POSITIVE_INFINITY
const OPEN: Shape = { kind: 'open' }
const sequence = (...parts: Part[]): Shape => ({ kind: 'sequence', parts })

const Text: Shape = sequence(part('Text', 'string', 1, many))
const ExternalIdentifiers: Shape = sequence(
  part(
    'ExternalIdentifier',
    {
      kind: 'all',
      parts: [part('Type', 'identifier'), maybe('OtherType', 'string'), part('Value', 'string')],
    },
    1,
    many,
  ),
)

export const VIP_OBJECTS: Record<string, Shape> = {
  Source: {
    kind: 'all',
    parts: [
      part('DateTime', 'dateTime'),
      maybe('Description', Text),
      maybe('FeedContactInformation', OPEN),
      part('Name', 'string'),
      maybe('OrganizationUri', 'uri'),
      maybe('TermsOfUseUri', 'uri'),
      part('VipId', 'string'),
    ],
  },
  Election: {
    kind: 'all',
    parts: [
      maybe('AbsenteeBallotInfo', Text),
      maybe('AbsenteeRequestDeadline', 'date'),
      part('Date', 'date'),
      maybe('ElectionType', Text),
      maybe('HasElectionDayRegistration', 'boolean'),
      maybe('HoursOpenId', 'idref'),
      maybe('IsStatewide', 'boolean'),
      maybe('Name', Text),
      maybe('PollingHours', Text),
      maybe('RegistrationDeadline', 'date'),
      maybe('RegistrationInfo', Text),
      maybe('ResultsUri', 'uri'),
      part('StateId', 'idref'),
    ],
  },
  State: sequence(
    maybe('ElectionAdministrationId', 'idref'),
    maybe('ExternalIdentifiers', ExternalIdentifiers),
    part('Name', 'string'),
    maybe('PollingLocationIds', 'idrefs'),
  ),
  Locality: sequence(
    maybe('ElectionAdministrationId', 'idref'),
    maybe('ExternalIdentifiers', ExternalIdentifiers),
    maybe('IsMailOnly', 'boolean'),
    part('Name', 'string'),
    maybe('PollingLocationIds', 'idrefs'),
    part('StateId', 'idref'),
    maybe('Type', 'district'),
    maybe('OtherType', 'string'),
  ),
  Precinct: sequence(
    maybe('BallotStyleId', 'idref'),
    maybe('ElectoralDistrictIds', 'idrefs'),
    maybe('ExternalIdentifiers', ExternalIdentifiers),
    maybe('IsMailOnly', 'boolean'),
    part('LocalityId', 'idref'),
    part('Name', 'string'),
    maybe('Number', 'string'),
    maybe('PollingLocationIds', 'idrefs'),
    maybe('PrecinctSplitName', 'string'),
    maybe('Ward', 'string'),
  ),
  PollingLocation: sequence(
    {
      ...maybe(
        'AddressStructured',
        sequence(
          part('Line1', 'string'),
          maybe('Line2', 'string'),
          maybe('Line3', 'string'),
          part('City', 'string'),
          part('State', 'string'),
          maybe('Zip', 'string'),
        ),
      ),
      choice: 'AddressStructured or AddressLine',
    },
    { ...maybe('AddressLine', 'string', many), choice: 'AddressStructured or AddressLine' },
    maybe('Directions', Text),
    maybe('Hours', Text),
    maybe('HoursOpenId', 'idref'),
    maybe('IsDropBox', 'boolean'),
    maybe('IsEarlyVoting', 'boolean'),
    maybe(
      'LatLng',
      sequence(part('Latitude', 'double'), part('Longitude', 'double'), maybe('Source', 'string')),
    ),
    maybe('Name', 'string'),
    maybe('PhotoUri', 'uri'),
  ),
  HoursOpen: sequence(
    part(
      'Schedule',
      sequence(
        maybe('Hours', sequence(part('StartTime', 'time'), part('EndTime', 'time')), many),
        maybe('IsOnlyByAppointment', 'boolean'),
        maybe('IsOrByAppointment', 'boolean'),
        maybe('IsSubjectToChange', 'boolean'),
        maybe('StartDate', 'date'),
        maybe('EndDate', 'date'),
      ),
      1,
      many,
    ),
  ),
}

/** Objects that a file may hold and that nothing is taken from. */
export const OTHER_OBJECTS = new Set(
  'BallotMeasureContest BallotMeasureSelection BallotSelection BallotStyle Candidate CandidateContest CandidateSelection Contest ElectionAdministration ElectoralDistrict Office OrderedContest Party PartyContest PartySelection Person RetentionContest StreetSegment'.split(
    ' ',
  ),
)

const oneOf = (words: string) => ({
  pattern: new RegExp(`^(${words.replaceAll(' ', '|')})$`),
  like: `one of ${words.replaceAll(' ', ', ')}`,
})

/** Pattern and wording of each simple type. `time` is the XSD's own TimeWithZone; the others follow XML Schema 1.0. */
export const VALUE_RULES: Record<ValueType, { pattern: RegExp; like: string }> = {
  string: { pattern: /^/, like: 'text' },
  uri: { pattern: /^\S*$/, like: 'an address without spaces' },
  boolean: { pattern: /^(true|false|1|0)$/, like: 'true or false' },
  date: { pattern: /^\d{4}-\d{2}-\d{2}(Z|[+-]\d{2}:\d{2})?$/, like: 'a date like 2028-11-07' },
  dateTime: {
    pattern: /^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(\.\d+)?(Z|[+-]\d{2}:\d{2})?$/,
    like: 'a date and time like 2028-11-07T08:00:00',
  },
  double: { pattern: /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/, like: 'a number like 38.009939' },
  time: {
    pattern:
      /^(([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]|(24:00:00))(Z|[+-]((0[0-9]|1[0-3]):[0-5][0-9]|14:00))$/,
    like: 'a time like 07:00:00-05:00',
  },
  idref: { pattern: /^[\p{L}_][\p{L}\p{N}_.-]*$/u, like: 'one id' },
  idrefs: {
    pattern: /^[\p{L}_][\p{L}\p{N}_.-]*(\s+[\p{L}_][\p{L}\p{N}_.-]*)*$/u,
    like: 'ids with spaces between',
  },
  district: oneOf(
    'borough city city-council congressional county county-council judicial municipality national school special state state-house state-senate town township utility village ward water other',
  ),
  identifier: oneOf('fips local-level national-level ocd-id state-level other'),
}

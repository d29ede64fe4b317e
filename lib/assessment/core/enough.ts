/** Least numbers of people below which a figure is shown with 'too few answers' (common practice; the latent models'
 *  follow Linacre 1994, Rasch Measurement Transactions 7:328, and rules of thumb for two parameters, from memory). */
export const ENOUGH_ANSWERS = 30
export const ENOUGH_FOR_RELIABILITY = 50
export const ENOUGH_FOR_RASCH = 100
export const ENOUGH_FOR_TWO_PARAMETERS = 500

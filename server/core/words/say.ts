/** Texts for people in the language of the program that shows them: kept beside the grammar, whose messages are said too. */
export { say, said, saidAtAll, speak, type WordTable } from '../../../grammar/src/say';

/** What an item of a picture is, in a word. */
import { say } from '../../words/say';

type ItemKind = 'chamber' | 'door' | 'sensor' | 'switch' | 'feed' | 'draw';

export function kindWord(kind: ItemKind): string {
  switch (kind) {
    case 'chamber':
      return say`chamber`;
    case 'door':
      return say`door`;
    case 'sensor':
      return say`sensor`;
    case 'switch':
      return say`switch`;
    case 'feed':
      return say`feed`;
    case 'draw':
      return say`draw`;
  }
}

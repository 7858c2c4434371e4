/** Entry that the editor calls inside its extension host. */
import './language.test';
import './workspace.test';
import './server.test';
import { runAll } from './suite';

export async function run(): Promise<void> {
  const failed = await runAll();
  if (failed > 0) throw new Error(`${failed} failed`);
}

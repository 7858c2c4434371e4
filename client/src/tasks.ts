/** Tasks that run the command line over the folders, for build runs and the problem matcher `$caisson`. */
import { ProcessExecution, Task, TaskGroup, tasks, workspace, type Disposable, type WorkspaceFolder } from 'vscode';
import type { Platform } from './platform';

type CommandLine = NonNullable<Platform['commandLine']>;

interface CheckDefinition {
  readonly type: 'caisson';
  readonly command: 'check';
  readonly path?: string;
}

/** Offers `caisson: check` for each folder on disk, and completes tasks written in tasks.json. */
export function registerTasks(commandLine: CommandLine): Disposable {
  return tasks.registerTaskProvider('caisson', {
    provideTasks: () =>
      (workspace.workspaceFolders ?? [])
        .filter((folder) => folder.uri.scheme === 'file')
        .map((folder) => checkTask({ type: 'caisson', command: 'check' }, folder, commandLine)),
    resolveTask: (task) => {
      const definition = task.definition as unknown as CheckDefinition;
      if (definition.command !== 'check' || typeof task.scope !== 'object') return undefined;
      return checkTask(definition, task.scope, commandLine);
    },
  });
}

function checkTask(definition: CheckDefinition, folder: WorkspaceFolder, { program, script, env }: CommandLine): Task {
  const execution = new ProcessExecution(program, [script, 'check', definition.path ?? '.'], {
    cwd: folder.uri.fsPath,
    env,
  });
  const task = new Task(
    definition,
    folder,
    definition.path ? `check ${definition.path}` : 'check',
    'caisson',
    execution,
    '$caisson',
  );
  task.group = TaskGroup.Test;
  return task;
}

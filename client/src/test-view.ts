/** Requirements in the editor's test view: file › rig › requirement, run by asking the server, marked in the margin. */
import type { TestRunRequest } from 'vscode';
import {
  l10n,
  Location,
  Range,
  TestMessage,
  TestRunProfileKind,
  tests,
  Uri,
  workspace,
  type Disposable,
  type TestController,
  type TestItem,
  type TestItemCollection,
  type TestRun,
  type TextDocument,
} from 'vscode';
import { TESTS, type TestRequirement, type TestsResult } from '../../server/protocol/messages';
import { coalesce } from './coalesce';
import { hasProblems } from './client-options';
import { listRigFiles } from './file-requests';
import type { Server } from './server';

export function registerTestView(server: Server): Disposable {
  const controller = tests.createTestController('caisson.requirements', l10n.t('Rig requirements'));
  const continuous = new Set<TestRunRequest>();
  const dirty = new Set<string>();

  const update = async (uri: Uri): Promise<TestsResult | null> => {
    const result = await testsOf(server, uri);
    if (result) fill(controller, uri, result);
    return result;
  };
  const work = coalesce(async () => {
    const uris = [...dirty];
    dirty.clear();
    for (const address of uris) {
      await update(Uri.parse(address));
      for (const request of continuous) await run(controller, update, request, address);
    }
  });
  const changed = (document: TextDocument): void => {
    if (document.languageId !== 'rig' || !hasProblems(document.uri)) return;
    dirty.add(document.uri.toString());
    setTimeout(work, 0);
  };

  controller.resolveHandler = async (item) => {
    if (item) return void (item.uri && (await update(item.uri)));
    for (const uri of await listRigFiles()) addFile(controller, uri);
  };
  controller.refreshHandler = async () => {
    for (const uri of await listRigFiles()) await update(uri);
  };
  const profile = controller.createRunProfile(
    l10n.t('Check requirements'),
    TestRunProfileKind.Run,
    async (request, token) => {
      await run(controller, update, request, null);
      if (!request.continuous) return;
      continuous.add(request);
      token.onCancellationRequested(() => continuous.delete(request));
    },
    true,
    undefined,
    true,
  );
  server.onStarted(() => workspace.textDocuments.forEach(changed));
  const subscriptions = [
    controller,
    profile,
    workspace.onDidOpenTextDocument(changed),
    workspace.onDidChangeTextDocument((event) => event.contentChanges.length > 0 && changed(event.document)),
    workspace.onDidDeleteFiles((event) => event.files.forEach((uri) => controller.items.delete(uri.toString()))),
    workspace.onDidCloseTextDocument((document) => {
      if (document.isUntitled) controller.items.delete(document.uri.toString());
    }),
  ];
  return { dispose: () => subscriptions.forEach((s) => s.dispose()) };
}

/** The requirements of a file as the server sees them; opens it so that the server has its text on every file system. */
async function testsOf(server: Server, uri: Uri): Promise<TestsResult | null> {
  if (server.status.kind === 'failed') return null;
  try {
    const document = await workspace.openTextDocument(uri);
    return await server.ask<TestsResult>(TESTS, { uri: document.uri.toString() });
  } catch {
    return null;
  }
}

function addFile(controller: TestController, uri: Uri): TestItem {
  const known = controller.items.get(uri.toString());
  if (known) return known;
  const item = controller.createTestItem(uri.toString(), workspace.asRelativePath(uri), uri);
  item.canResolveChildren = true;
  controller.items.add(item);
  return item;
}

/** Brings the items of a file in line with the server's answer, keeping those that stayed. */
function fill(controller: TestController, uri: Uri, result: TestsResult): void {
  if (result.rigs.every((rig) => rig.requirements.length === 0)) return controller.items.delete(uri.toString());
  const document = workspace.textDocuments.find((d) => d.uri.toString() === uri.toString());
  if (!document) return;
  const file = addFile(controller, uri);
  const rigs = result.rigs.filter((rig) => rig.requirements.length > 0);
  replace(file.children, rigs, (rig, position) => {
    const id = `${uri.toString()}#${rig.name}`;
    const item = keep(controller, file.children, id, rig.name, uri);
    place(item, document, rig, position);
    replace(item.children, rig.requirements, (requirement, order) => {
      const child = keep(controller, item.children, requirementId(uri, requirement), requirement.label, uri);
      place(child, document, requirement, order);
      return child;
    });
    return item;
  });
}

const requirementId = (uri: Uri, requirement: TestRequirement): string => `${uri.toString()}#${requirement.id}`;

function keep(controller: TestController, among: TestItemCollection, id: string, label: string, uri: Uri): TestItem {
  return among.get(id) ?? controller.createTestItem(id, label, uri);
}

function replace<T>(
  among: TestItemCollection,
  values: readonly T[],
  itemOf: (value: T, position: number) => TestItem,
): void {
  among.replace(values.map(itemOf));
}

function place(item: TestItem, document: TextDocument, at: { start: number; end: number }, position: number): void {
  item.range = new Range(document.positionAt(at.start), document.positionAt(at.end));
  item.sortText = String(position).padStart(5, '0');
}

type Update = (uri: Uri) => Promise<TestsResult | null>;

/** Runs the requested tests, one request a file; `only` limits it to one file (continuous runs). */
async function run(
  controller: TestController,
  update: Update,
  request: TestRunRequest,
  only: string | null,
): Promise<void> {
  const chosen = request.include ?? [...controller.items].map(([, item]) => item);
  const files = new Map<string, TestItem[]>();
  for (const item of chosen) {
    const address = item.uri!.toString();
    if (only === null || only === address) files.set(address, [...(files.get(address) ?? []), item]);
  }
  if (files.size === 0) return;
  const run = controller.createTestRun(request);
  for (const [address, items] of files) {
    const result = await update(Uri.parse(address));
    const wanted = items.flatMap(leavesOf).filter((leaf) => !request.exclude?.includes(leaf));
    wanted.forEach((leaf) => run.started(leaf));
    wanted.forEach((leaf) => report(run, leaf, result));
  }
  run.end();
}

/** The requirements under an item, itself if it is one. */
function leavesOf(item: TestItem): TestItem[] {
  const children = [...item.children].map(([, child]) => child);
  if (children.length > 0) return children.flatMap(leavesOf);
  return item.canResolveChildren ? [] : [item];
}

function report(run: TestRun, leaf: TestItem, result: TestsResult | null): void {
  const all = result?.rigs.flatMap((rig) => rig.requirements) ?? [];
  const requirement = all.find((r) => requirementId(leaf.uri!, r) === leaf.id);
  if (requirement) leaf.description = requirement.value;
  if (!requirement)
    return run.errored(leaf, new TestMessage(l10n.t('The requirement could not be computed: see the log.')));
  if (requirement.verdict === 'met') return run.passed(leaf);
  const message = messageOf(leaf, requirement);
  // What is undecided or not computed is neither a failure nor a pass.
  if (requirement.verdict === 'failed') run.failed(leaf, message);
  else run.errored(leaf, message);
}

/** In words: with an expected and an actual output the editor writes "6.62 s != in 6 s .. 6.5 s" at the end of the line. */
function messageOf(leaf: TestItem, requirement: TestRequirement): TestMessage {
  const message = new TestMessage(requirement.message);
  if (leaf.uri && leaf.range) message.location = new Location(leaf.uri, leaf.range);
  return message;
}

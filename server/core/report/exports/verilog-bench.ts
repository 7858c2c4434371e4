/** The test bench of an exported module of Verilog: a course of inputs, rows of outputs, a value change dump. */
import { inputNets, netName, wide, type Named, type VerilogParts } from './verilog-blocks';

/** What the test bench does: inputs that change, counted from a moment `start` after power-up. Times in whole microseconds. */
export interface BenchCourse {
  /** What the inputs do, in words: "scenario morning". */
  readonly words: string;
  readonly start: number;
  /** Value of a switch or sensor at power-up. */
  readonly initial: (net: number) => boolean;
  /** In order of time. */
  readonly steps: readonly { readonly t: number; readonly net: number; readonly value: boolean }[];
  /** How long the course is followed, its last moment included. */
  readonly until: number;
}

/** The module that gives the network its inputs, prints a row whenever an output changes and writes a value change dump. */
export function benchLines(p: VerilogParts, module: string, outputs: readonly Named[], course: BenchCourse): string[] {
  const inputs = inputNets(p);
  const bench = p.names.made(`${module} tb`);
  const ports = [...inputs.map((net) => netName(p, net)), ...outputs.map((o) => o.id), 'fault'];
  return [
    `module ${bench};`,
    ...inputs.map((net) => `  reg ${netName(p, net)};`),
    ...[...outputs.map((o) => o.id), 'fault'].map((id) => `  wire ${id};`),
    `  ${module} tested (${ports.map((port) => `.${port}(${port})`).join(', ')});`,
    '  initial begin',
    `    $dumpfile("${module}.vcd");`,
    `    $dumpvars(0, ${bench});`,
    `    $display("time_us ${[...outputs.map((o) => o.id), 'fault'].join(' ')}");`,
    `    $monitor("%0d${' %b'.repeat(outputs.length + 1)}", $time, ${[...outputs.map((o) => o.id), 'fault'].join(', ')});`,
    '  end',
    '  initial begin',
    ...inputs.map((net) => `    ${netName(p, net)} = ${bit(course.initial(net))};`),
    ...courseLines(p, course),
    '    $finish(0);',
    '  end',
    'endmodule',
  ];
}

const bit = (value: boolean): string => (value ? "1'b1" : "1'b0");

function courseLines(p: VerilogParts, course: BenchCourse): string[] {
  let at = 0;
  const wait = (t: number): string[] => {
    const by = t - at;
    at = t;
    return by > 0 ? [`    #(${wide(by)});`] : [];
  };
  const steps = course.steps
    .filter((step) => step.t <= course.until)
    .flatMap((step) => [
      ...wait(course.start + step.t),
      `    ${netName(p, step.net)} = ${bit(step.value)}; // ${course.start + step.t}`,
    ]);
  return [...steps, ...wait(course.start + course.until + 1)];
}

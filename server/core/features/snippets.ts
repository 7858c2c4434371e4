/** Whole statements with places to fill in. `$1`, `${2:text}` are tab stops, `$0` is where the cursor ends. */

export const STATEMENT_SNIPPETS: Readonly<Record<string, string>> = {
  import: 'import "${1:file}.rig"',
  rig: [
    'rig ${1:name} "${2:title}" {',
    '  medium ${3:air}',
    '',
    '  chamber ${4:receiver} { volume ${5:1 m3}  pressure ${6:1.02 bar} }',
    '  chamber ${7:store} { volume ${8:500 L}  pressure ${9:1.02 bar} }',
    '',
    '  door ${10:upper} { pocket ${11:50 L}  travel ${12:300 ms} }',
    '',
    '  stack ${4:receiver} > ${10:upper} > ${7:store}',
    '',
    '  controller { response ${13:50 ms} }',
    '',
    '  sensor ${14:ready} on ${4:receiver} { pressure above ${15:1.5 bar}  clears below ${16:1.3 bar} }',
    '',
    '  signal ${10:upper}_on = TP(${14:ready}, ${17:2 s})',
    '',
    '  drive ${10:upper} = ${10:upper}_on',
    '  $0',
    '}',
  ].join('\n'),
  part: 'part ${1:name}(${2:parameters}) {\n  $0\n}',
  place: 'place ${1:name} = ${2:part}($3)',
  let: 'let ${1:name} = ${2:1 s}',
  medium: 'medium ${1:name} ${2|gas,liquid,packed|} {\n  $0\n}',
  chamber: 'chamber ${1:name} { volume ${2:1 m3}  pressure ${3:1.02 bar} }',
  door: 'door ${1:name} { pocket ${2:50 L}  travel ${3:300 ms}  bore ${4:100 mm} }',
  stack: 'stack ${1:chamber} > ${2:door} > ${3:chamber}',
  feed: 'feed ${1:name} into ${2:chamber} { rate ${3:0.1 kg/s} }',
  draw: 'draw ${1:name} from ${2:chamber} { rate ${3:0.1 kg/s} }',
  supply: 'supply { limit ${1:2 kW} }',
  controller: 'controller { response ${1:50 ms}  timer_accuracy ${2:2 %} }',
  switch: 'switch ${1:name} = ${2|on,off|}',
  sensor: 'sensor ${1:name} on ${2:chamber} { pressure above ${3:1.5 bar}  clears below ${4:1.3 bar} }',
  signal: 'signal ${1:name} = $0',
  drive: 'drive ${1:door} = ${0:signal}',
  sequence: 'sequence ${1:name} on ${2:signal} {\n  at 0 s open ${3:door}\n  at ${4:2 s} close ${3:door}\n  $0\n}',
  require: 'require $0',
  prefer: 'prefer ${1|least,most|} ${2:repeat()}',
  scenario: 'scenario ${1:name} {\n  at ${2:0 s} $0\n  for ${3:1 h}\n}',
};

/** Second forms of a statement, offered beside the first. */
export const MORE_SNIPPETS: readonly { readonly keyword: string; readonly label: string; readonly snippet: string }[] =
  [
    {
      keyword: 'controller',
      label: 'controller { scan … }',
      snippet: 'controller { scan ${1:20 ms}  timer_accuracy ${2:2 %} }',
    },
    { keyword: 'signal', label: 'signal … = TOF(…)', snippet: 'signal ${1:name} = TOF(${2:input}, ${3:1.8 s})' },
    {
      keyword: 'signal',
      label: 'signal … = TOF(TON(…))',
      snippet: 'signal ${1:name} = TOF(TON(${2:input}, ${3:2 s}), ${4:1 s})',
    },
    {
      keyword: 'require',
      label: 'require overlap(…) >= …',
      snippet: 'require overlap(${1:door}, ${2:door}) >= ${3:100 ms}',
    },
    { keyword: 'require', label: 'require gap(…) >= …', snippet: 'require gap(${1:door}, ${2:door}) >= ${3:100 ms}' },
    { keyword: 'let', label: 'let … in … .. …', snippet: 'let ${1:name} = ${2:1 s} in ${3:500 ms} .. ${4:2 s}' },
    { keyword: 'require', label: 'require repeat() in …', snippet: 'require repeat() in ${1:12 s} .. ${2:16 s}' },
  ];

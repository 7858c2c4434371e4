-- Drives the server with Neovim's own client (0.7 or later), headless. Arguments in the environment:
-- CAISSON_SERVER the bundle, CAISSON_FILE the rig to open, CAISSON_RESULT where the answers go as JSON.
local result = { log = {} }

local function finish()
  local file = assert(io.open(vim.env.CAISSON_RESULT, 'w'))
  file:write(vim.fn.json_encode(result))
  file:close()
  vim.cmd('qall!')
end

local function run()
  vim.cmd('edit ' .. vim.fn.fnameescape(vim.env.CAISSON_FILE))
  local buffer = vim.api.nvim_get_current_buf()
  vim.bo[buffer].filetype = 'rig'
  local client = vim.lsp.start_client({
    name = 'caisson',
    cmd = { vim.env.CAISSON_NODE, vim.env.CAISSON_SERVER, '--stdio' },
    handlers = {
      ['window/logMessage'] = function(_, message) table.insert(result.log, message.message) end,
    },
    on_error = function(code, err) table.insert(result.log, tostring(code) .. ' ' .. tostring(err)) end,
  })
  vim.lsp.buf_attach_client(buffer, client)
  vim.wait(10000, function() return #vim.diagnostic.get(buffer) > 0 end, 20)
  result.before = vim.tbl_map(function(d) return d.code or d.user_data.lsp.code end, vim.diagnostic.get(buffer))
  local info = vim.lsp.get_client_by_id(client)
  result.push = info.server_capabilities.diagnosticProvider == nil

  local function ask(method, params)
    local answers = vim.lsp.buf_request_sync(buffer, method, params, 10000)
    return answers and answers[client] or {}
  end
  local function at(text, inside)
    for row, line in ipairs(vim.api.nvim_buf_get_lines(buffer, 0, -1, false)) do
      local column = line:find(text, 1, true)
      if column then
        return { textDocument = vim.lsp.util.make_text_document_params(buffer), position = { line = row - 1, character = column - 1 + inside } }
      end
    end
  end
  result.completion = vim.tbl_map(function(i) return i.label end, ask('textDocument/completion', at('drive inner', 6)).result.items)
  result.symbols = #ask('textDocument/documentSymbol', { textDocument = vim.lsp.util.make_text_document_params(buffer) }).result

  -- The quick fix of the misspelled constant, taken as an editor takes it.
  local place = at('dwel)', 1)
  local actions = ask('textDocument/codeAction', {
    textDocument = place.textDocument,
    range = { start = place.position, ['end'] = place.position },
    context = { diagnostics = {} },
  }).result
  result.actions = vim.tbl_map(function(a) return a.title end, actions)
  vim.lsp.util.apply_workspace_edit(actions[1].edit, 'utf-16')
  vim.wait(10000, function() return #vim.diagnostic.get(buffer) == 0 end, 20)
  result.after = #vim.diagnostic.get(buffer)

  local hover = ask('textDocument/hover', at('door inner', 6)).result
  result.hover = hover and hover.contents.value

  -- Rename, refuse a keyword, format; the test compares the text.
  local rename = at('door inner', 6)
  rename.newName = 'front'
  vim.lsp.util.apply_workspace_edit(ask('textDocument/rename', rename).result, 'utf-16')
  local refused = at('door front', 1)
  refused.newName = 'x'
  local refusal = ask('textDocument/rename', refused)
  result.refusal = (refusal.error or refusal.err or {}).message
  local format = ask('textDocument/formatting', vim.lsp.util.make_formatting_params({}))
  vim.lsp.util.apply_text_edits(format.result, buffer, 'utf-16')
  result.text = table.concat(vim.api.nvim_buf_get_lines(buffer, 0, -1, false), '\n') .. '\n'
  vim.lsp.stop_client(client)
  vim.wait(5000, function() return vim.lsp.get_client_by_id(client) == nil or vim.lsp.get_client_by_id(client).is_stopped() end, 20)
end

local ok, err = pcall(run)
if not ok then result.failed = tostring(err) end
finish()

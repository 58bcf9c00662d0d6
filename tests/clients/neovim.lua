-- Drives the configuration in editors/neovim: a flawed plan is opened, its findings are seen at their places, a word and
-- a cylinder are hovered over, a fix is taken and its finding goes. Run headless; anything amiss ends with status 1.
local here = vim.env.LEADSMAN_CLIENTS
local deadline_ms = 30000

local function fail(why)
  io.stderr:write("neovim: " .. why .. "\n")
  vim.cmd("cquit 1")
end

local function await(what, condition)
  if not vim.wait(deadline_ms, condition, 20) then
    local seen = vim.inspect(vim.diagnostic.get(0))
    fail("waited in vain for " .. what .. "; findings: " .. seen)
  end
end

--- The finding of a rule, if it is there.
local function finding(rule)
  for _, diagnostic in ipairs(vim.diagnostic.get(0)) do
    if diagnostic.code == rule or (diagnostic.user_data and diagnostic.user_data.lsp and diagnostic.user_data.lsp.code == rule) then
      return diagnostic
    end
  end
end

local function ask(method, params)
  local answers = vim.lsp.buf_request_sync(0, method, params, deadline_ms)
  for _, answer in pairs(answers or {}) do
    if answer.error then
      fail(method .. ": " .. vim.inspect(answer.error))
    end
    if answer.result then
      return answer.result
    end
  end
  fail(method .. ": no answer")
end

--- The text a finding covers: Neovim counts its columns in bytes, whatever the server counted in.
local function covered(diagnostic)
  local line = vim.api.nvim_buf_get_lines(0, diagnostic.lnum, diagnostic.lnum + 1, true)[1]
  return line:sub(diagnostic.col + 1, diagnostic.end_col)
end

local function expect(rule, text)
  local found = finding(rule)
  if not found then
    fail("no " .. rule)
  elseif covered(found) ~= text then
    fail(rule .. " covers " .. vim.inspect(covered(found)) .. ", not " .. vim.inspect(text))
  end
  return found
end

local function encoding()
  local clients = (vim.lsp.get_clients or vim.lsp.get_active_clients)()
  return clients[1].offset_encoding or "utf-16"
end

local function hover(pattern)
  vim.fn.cursor(1, 1)
  if vim.fn.search(pattern) == 0 then
    fail("no " .. pattern .. " in the plan")
  end
  local result = ask("textDocument/hover", vim.lsp.util.make_position_params(0, encoding()))
  return type(result.contents) == "table" and (result.contents.value or vim.inspect(result.contents)) or result.contents
end

local function run()
  package.path = here .. "/../../editors/neovim/?.lua;" .. package.path
  require("leadsman").setup({ cmd = { vim.env.LEADSMAN, "lsp" } })
  vim.cmd("edit " .. vim.fn.fnameescape(vim.env.LEADSMAN_PLAN))
  await("findings", function() return #vim.diagnostic.get(0) >= 3 end)
  local misspelt = expect("unknown-word", "altitud")
  expect("cell-expired", '"2026-05-01"')
  expect("mix-below-minimum", "29.7")

  local word = hover("temperature")
  if not word:lower():find("temperature") or not word:find("°C") then
    fail("hover over a word says " .. word)
  end
  local cylinder = hover('"S7-14"')
  if not cylinder:lower():find("operating depth") then
    fail("hover over a cylinder says " .. cylinder)
  end

  local raw = misspelt.user_data and misspelt.user_data.lsp
  local line = vim.api.nvim_buf_get_lines(0, misspelt.lnum, misspelt.lnum + 1, true)[1]
  local unit = function(byte)
    if encoding() == "utf-8" then return byte end
    local _, utf16 = vim.str_utfindex(line, byte)
    return utf16
  end
  local params = {
    textDocument = vim.lsp.util.make_text_document_params(),
    range = {
      start = { line = misspelt.lnum, character = unit(misspelt.col) },
      ["end"] = { line = misspelt.lnum, character = unit(misspelt.end_col) },
    },
    context = { diagnostics = { raw and raw.range and raw or nil } },
  }
  local actions = ask("textDocument/codeAction", params)
  local taken
  for _, action in ipairs(actions) do
    if action.isPreferred and action.edit then taken = action end
  end
  if not taken then
    fail("no preferred action among " .. vim.inspect(actions))
  end
  vim.lsp.util.apply_workspace_edit(taken.edit, encoding())
  await("the finding to go", function() return finding("unknown-word") == nil end)
  expect("cell-expired", '"2026-05-01"')
  local text = table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, true), "\n")
  if not text:find("😀 %*/ site \"Greyfen quarry\" water=fresh altitude=210 ") then
    fail("the fix left " .. text)
  end

  local stay = vim.fn.search("stay 20")
  vim.api.nvim_buf_set_lines(0, stay - 1, stay, true, { "  stay   20     work=light" })
  if vim.lsp.buf.format then
    vim.lsp.buf.format({ timeout_ms = 30000 })
  else
    vim.lsp.buf.formatting_sync(nil, 30000)
  end
  local formatted = vim.api.nvim_buf_get_lines(0, 0, -1, true)
  if formatted[stay] ~= "        stay 20 work=light" or not table.concat(formatted, "\n"):find('    cell "a"     fitted=', 1, true) then
    fail("formatting left " .. table.concat(formatted, "\n"))
  end
  io.stdout:write("neovim " .. tostring(vim.version().major) .. "." .. tostring(vim.version().minor) .. " (" .. encoding() .. "): findings, hover, fix and formatting\n")
  vim.cmd("qall!")
end

local fine, why = pcall(run)
if not fine then
  fail(tostring(why))
end

-- Starts the leadsman server for dive plans, kit and an archive's root file. Works from Neovim 0.7 on.
local M = {}

--- The folder of the nearest `leadsman.kdl`, else the repository's root, else the file's own folder.
local function root_of(file)
  local dir = vim.fn.fnamemodify(file, ":p:h")
  local house = vim.fn.findfile("leadsman.kdl", dir .. ";")
  if house ~= "" then
    return vim.fn.fnamemodify(house, ":p:h")
  end
  local git = vim.fn.finddir(".git", dir .. ";")
  if git ~= "" then
    return vim.fn.fnamemodify(git, ":p:h:h")
  end
  return dir
end

--- Options: `cmd`, the server's command, and whatever else `vim.lsp.start_client` takes.
function M.setup(options)
  options = options or {}
  local clients = {}
  vim.api.nvim_create_autocmd({ "BufReadPost", "BufNewFile" }, {
    pattern = { "*.plan.kdl", "*.kit.kdl", "leadsman.kdl" },
    callback = function(event)
      vim.bo[event.buf].filetype = "kdl"
      local root = root_of(event.file)
      if not clients[root] then
        local config = vim.tbl_extend("force", {
          name = "leadsman",
          cmd = { "leadsman", "lsp" },
          root_dir = root,
          workspace_folders = { { uri = vim.uri_from_fname(root), name = root } },
          on_exit = function()
            clients[root] = nil
          end,
        }, options)
        clients[root] = vim.lsp.start_client(config)
      end
      if clients[root] then
        vim.lsp.buf_attach_client(event.buf, clients[root])
      end
    end,
  })
end

return M

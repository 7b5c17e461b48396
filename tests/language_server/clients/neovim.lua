-- Opens the rig $RIG in $FOLDER with the server $SERVER, and writes what it shows to $OUT.
local folder, server = vim.env.FOLDER, vim.split(vim.env.SERVER, " ")
vim.cmd("edit " .. folder .. "/" .. vim.env.RIG)
local client = vim.lsp.start_client({ name = "lineshaft", cmd = server, root_dir = folder })
vim.lsp.buf_attach_client(0, client)
vim.wait(30000, function() return #vim.diagnostic.get(0) > 0 end, 50)
local line = vim.fn.search("^  step:") - 1
local params = { textDocument = vim.lsp.util.make_text_document_params(), position = { line = line, character = 3 } }
local answers = vim.lsp.buf_request_sync(0, "textDocument/hover", params, 30000) or {}
local hover = ""
for _, answer in pairs(answers) do hover = answer.result and answer.result.contents.value or "" end
local shown = {}
for _, found in ipairs(vim.diagnostic.get(0)) do
  table.insert(shown, { line = found.lnum, column = found.col, message = found.message, code = found.code or "" })
end
local out = io.open(vim.env.OUT, "w")
out:write(vim.json.encode({ diagnostics = shown, hover = hover }))
out:close()
vim.lsp.stop_client(client)

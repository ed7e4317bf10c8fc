-- Requests of one kind: wrk … -s load.lua -- KIND TOKEN FILE_OF_IDS BODY_FILE FIRST_DAY
-- Days are counted on, so that no visit is made twice.
local ids, count, sent = {}, 0, 0

local function slurp(path)
  local file = assert(io.open(path))
  local text = file:read("*a")
  file:close()
  return text
end

function init(args)
  kind, fields = args[1], { Authorization = "Bearer " .. args[2] }
  for line in io.lines(args[3]) do
    count = count + 1
    ids[count] = line
  end
  if args[4] ~= "-" then
    body = slurp(args[4])
    fields["Content-Type"] = "application/json"
  end
  first = tonumber(args[5])
  if kind == "unchanged" then fields["If-None-Match"] = '"1"' end
end

function request()
  sent = sent + 1
  local id = ids[sent % count + 1]
  if kind == "row" or kind == "unchanged" then return wrk.format("GET", "/v1/patients/" .. id, fields) end
  if kind == "list" then return wrk.format("GET", "/v1/patients", fields) end
  if kind == "file" then return wrk.format("GET", "/row.json", fields) end
  if kind == "create" then
    local day = os.date("!%Y-%m-%d", (first + math.floor(sent / count)) * 86400)
    local case, setup = id:match("(%S+) (%S+)")
    return wrk.format("POST", "/v1/visits", fields, (body:gsub("@case@", case):gsub("@setup@", setup):gsub("@day@", day)))
  end
  return wrk.format("POST", "/v1/mechanics/evaluate", fields, body)
end

// The same work by another stack: peer.js PLAN_FILE. Serves the plan's routes: for each the statements that the daemon was
// seen to run, in its order and in one transaction, and from their rows the same JSON; one awaited after the other, as
// pg's manual has it, or pipelined. Bodies are checked by the schema of the description. Prints "ready".
'use strict'
const crypto = require('node:crypto')
const fs = require('node:fs')
const fastify = require('fastify')
const pg = require('pg')

const plan = JSON.parse(fs.readFileSync(process.argv[2], 'utf8'))

// Text as it comes, as the daemon takes it; what becomes JSON numbers and parts is turned below.
for (const type of Object.values(pg.types.builtins)) pg.types.setTypeParser(type, (text) => text)

// A fixed number of connections; each request has one to itself for its transaction.
const idle = []
const waiting = []
const take = () => idle.length > 0 ? idle.pop() : new Promise((resolve) => waiting.push(resolve))
const give = (client) => { if (waiting.length > 0) waiting.shift()(client); else idle.push(client) }

function uuid7 () {
  const bytes = crypto.randomBytes(16)
  bytes.writeUIntBE(Date.now(), 0, 6)
  bytes[6] = (bytes[6] & 0x0f) | 0x70
  bytes[8] = (bytes[8] & 0x3f) | 0x80
  const hex = bytes.toString('hex')
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`
}

const digest = (request) => {
  const field = request.headers.authorization
  return field !== undefined && field.startsWith('Bearer ')
    ? crypto.createHash('sha256').update(field.slice(7)).digest('hex')
    : null
}

// A parameter is a constant, something of the request, or a cell of an earlier answer.
function parameter (slot, request, made) {
  if (slot.constant !== undefined) return slot.constant
  if (slot.from === 'digest') return made.digest
  if (slot.from === 'id') return request.params.id
  if (slot.from === 'made') return (made.ids[slot.name] ??= uuid7())
  if (slot.from === 'request') return request.id
  if (slot.from === 'body') {
    const value = request.body[slot.name]
    return value === undefined ? null : typeof value === 'object' ? JSON.stringify(value) : String(value)
  }
  return made.answers[slot.step].rows[0][slot.column]
}

async function run (steps, request, made) {
  const client = await take()
  try {
    made.answers = []
    let sent = []
    for (const step of steps) {
      if (step.params.some((slot) => slot.from === 'cell')) { // only now does it have to wait
        made.answers = made.answers.concat(await Promise.all(sent))
        sent = []
      }
      const answer = client.query({ name: step.name, text: step.sql, rowMode: 'array', values: step.params.map((slot) => parameter(slot, request, made)) })
      if (plan.pipelined) sent.push(answer)
      else made.answers.push(await answer)
    }
    made.answers = made.answers.concat(await Promise.all(sent))
  } catch (error) {
    await client.query('rollback')
    throw error
  } finally {
    give(client)
  }
}

// As RFC 3339 wants it, with all six places of the second.
function time (cell) {
  const clock = cell.slice(11, -3)
  return `${cell.slice(0, 10)}T${clock.length > 8 ? clock.padEnd(15, '0') : clock + '.000000'}Z`
}

function object (row, columns) {
  const out = {}
  for (let i = 0; i < columns.length; i++) {
    const cell = row[i]
    if (cell === null) continue
    const { name, kind } = columns[i]
    out[name] = kind === 'number' ? Number(cell) : kind === 'json' ? JSON.parse(cell) : kind === 'boolean' ? cell === 't' : kind === 'time' ? time(cell) : cell
  }
  return out
}

const app = fastify({ logger: false, genReqId: uuid7, ajv: { customOptions: { strict: false, coerceTypes: false, removeAdditional: false, allErrors: true } } })
app.setErrorHandler((error, request, reply) => {
  const status = error.code === 'HF401' ? 401 : error.code === 'HF403' ? 403 : error.validation ? 422 : 500
  reply.code(status).type('application/problem+json').send({ type: '/problems/refused', title: error.message, status })
})

for (const route of plan.routes) {
  const handler = async (request, reply) => {
    const made = { digest: digest(request), ids: {} }
    if (made.digest === null) return reply.code(401).send({ title: 'A valid access token is needed', status: 401 })
    await run(route.steps, request, made)
    const rows = made.answers[route.answer].rows
    if (route.kind === 'list') return { items: rows.slice(0, 50).map((row) => object(row, route.columns)), next_cursor: rows.length > 50 ? crypto.randomUUID() : null }
    if (rows.length === 0) return reply.code(404).send({ title: 'There is nothing here', status: 404 })
    const row = object(rows[0], route.columns)
    const etag = `"${row.version}"`
    reply.header('ETag', etag)
    if (request.headers['if-none-match'] === etag) return reply.code(304).send()
    if (route.kind === 'create') reply.code(201).header('Location', `${route.path}/${row.id}`)
    return row
  }
  const schema = route.schema ? { body: route.schema } : {}
  app.route({ method: route.method, url: route.path, schema, handler })
}

async function main () {
  for (let i = 0; i < plan.connections; i++) {
    const client = new pg.Client({ host: plan.host, database: plan.database, user: plan.user, pipeline: plan.pipelined })
    await client.connect()
    idle.push(client)
  }
  await app.listen({ host: '127.0.0.1', port: plan.port })
  console.log('ready')
}

process.on('SIGTERM', () => process.exit(0))
main().catch((error) => { console.error(error); process.exit(1) })

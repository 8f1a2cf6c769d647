// Reads a folder of exported tables with an independent Data Package reader: the
// descriptor must be valid and every CSV must read with its declared types.
// Usage: node datapackage.js DIR
const path = require('path')
const { Package } = require('datapackage')

async function main(dir) {
  const pack = await Package.load(path.join(dir, 'datapackage.json'), { basePath: dir })
  if (!pack.valid) throw new Error('descriptor: ' + pack.errors.map((e) => e.message).join('; '))
  let rows = 0
  for (const resource of pack.resources) {
    // The workbook and the texts beside the tables are plain data.
    if (resource.descriptor.profile !== 'tabular-data-resource') continue
    const read = await resource.read({ keyed: true })
    if (read.length === 0) throw new Error(resource.name + ': no rows')
    rows += read.length
    console.log(resource.name + ': ' + read.length + ' rows')
  }
  if (rows === 0) throw new Error('no table was read')
}

main(process.argv[2]).catch((e) => {
  console.error(e.message, e.errors ? e.errors.slice(0, 5).map(String) : '')
  process.exit(1)
})

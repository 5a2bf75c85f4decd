// astronomy-engine 2.1.19 (npm), run as: node sun_1900_2100.js > sun_1900_2100.csv
// Sun events 1900-2100 by astronomy-engine, UTC dates; first event of each kind within the date.
const A=require('astronomy-engine');
const places=[[0,0],[26.1,-80.2],[-33.87,151.21],[52.09,5.12],[-45.03,168.66],[59.9,10.75],[64.15,-21.94],[69.68,18.94]];
console.log('lat,lon_east,utc_date,civil_dawn,sunrise,sunset,civil_dusk');
for (const [la,lo] of places) for (const y of [1900,1924,1950,1976,2000,2026,2050,2075,2100]) for (const md of ['01-05','02-28','05-09','06-21','09-23','11-17']) {
  const t0=A.MakeTime(new Date(`${y}-${md}T00:00:00Z`)); const ob=new A.Observer(la,lo,0);
  const f=(dir,alt)=>{const e=A.SearchAltitude('Sun',ob,dir,t0,1,alt); return e&&e.ut<t0.ut+1?e.date.toISOString().slice(0,19)+'Z':'';};
  console.log([la,lo,`${y}-${md}`,f(1,-6),f(1,-0.8333),f(-1,-0.8333),f(-1,-6)].join(','));
}

"""How a page looks: paper and ink, one green, one warm colour; light, dark and in print."""

__all__ = ["STYLE"]

STYLE = """
:root{--paper:#fbf9f3;--ink:#23211c;--soft:#5a554a;--rule:#d6d0c0;--green:#35602a;--warm:#a83a0c;
color-scheme:light dark}
@media screen and (prefers-color-scheme:dark){:root{
--paper:#1c1b18;--ink:#ece7da;--soft:#b6ae9d;--rule:#45413a;
--green:#a9cd8e;--warm:#ff9b66}}
*{box-sizing:border-box}
body{margin:0;background:var(--paper);color:var(--ink);font:1.0625rem/1.5 ui-sans-serif,system-ui,sans-serif;
font-variant-numeric:tabular-nums;overflow-wrap:anywhere}
header,main,footer{max-width:88rem;margin:0 auto;padding:0 clamp(1rem,3vw,2.5rem)}
h1,h2{font-family:ui-serif,serif;font-weight:400;line-height:1.2}
h1{font-size:clamp(1.8rem,5vw,2.7rem);margin:1.6rem 0 0}
h2{font-size:1.5rem;margin:3rem 0 .6rem}
p,ul{max-width:44rem}
ul{padding-left:1.2rem}
.soft{color:var(--soft)}
.warm{color:var(--warm)}
.skip{position:absolute;left:-99rem}
.skip:focus{position:static;display:inline-block;padding:.6rem 1rem}
a{color:var(--green)}
:focus-visible{outline:3px solid var(--green);outline-offset:2px}
.big{display:grid;grid-template-columns:repeat(auto-fit,minmax(9.5rem,1fr));gap:1.6rem;
margin:1.2rem 0 0}
.big div{display:flex;flex-direction:column-reverse;justify-content:flex-end}
.big dd{margin:0;font-family:ui-serif,serif;font-size:clamp(1.9rem,5vw,2.6rem);line-height:1.1;
white-space:nowrap}
.big dt{color:var(--soft);max-width:16rem}
.passed li{margin:.35rem 0}
.scroll{overflow-x:auto;margin:0 0 1rem}
.scroll svg{display:block;width:100%;min-width:70rem;height:auto}
table{border-collapse:collapse;font-size:.9375rem;line-height:1.35}
caption{text-align:left;color:var(--soft);padding:0 0 .6rem;max-width:44rem;overflow-wrap:normal}
th,td{padding:.22rem .55rem;text-align:right;white-space:nowrap;overflow-wrap:normal}
thead th{font-weight:600;white-space:normal;vertical-align:bottom;
border-bottom:1.5px solid var(--ink);min-width:3.6rem}
tbody tr:nth-child(4n) :is(th,td){border-bottom:1px solid var(--rule)}
tbody th{font-weight:600;background:var(--paper)}
th:first-child{position:sticky;left:0;background:var(--paper);text-align:left}
.words{text-align:left}
footer{margin:3rem auto 2.5rem;border-top:1px solid var(--rule);padding-top:1rem}
@media print{
@page{size:A4 landscape;margin:10mm}
body{font-size:9.5pt}
header,main,footer{max-width:none;padding:0}
h1{font-size:20pt;margin:0}
h2{font-size:13pt;margin:6mm 0 2mm;break-after:avoid}
.big dd{font-size:20pt}
.big{grid-template-columns:repeat(5,1fr);gap:4mm}
.skip{display:none}
.scroll{overflow:visible}
.picture{break-before:page;break-after:page}
#places{break-before:page}
.picture h2,.picture p{display:none}
.picture svg{min-width:0;width:auto;max-width:100%;height:auto;max-height:188mm;margin:0 auto}
table{font-size:7.5pt}
th,td{padding:.35mm 1.6mm}
thead{display:table-header-group}
tr{break-inside:avoid}
th:first-child{position:static}
}
"""

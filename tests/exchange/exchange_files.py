"""Exchange files for the tests, all invented, and short ways through reading and writing."""

from webapp import exchange
from webapp.records.fold import fold

HEAD = '#A1=ISO-8859-1\r\n#A2=en\r\n#A3=,\r\n#A4=.\r\n#A5="\r\n#A6=2010\r\n'
EXAMPLE = (
    HEAD
    + """\
#B01=AAA,AAB,AAD,AAF,AAJ,AAK,AAN,AAM\r
K-21,OUT-1,OUT-1,CH-4,"Saltmarsh Lane, bank of the creek",B,Inventham,Parish of Inventham\r
#B02=ABA,ABC,ABE,ABF,ABG,ABH,ABJ,ABP,ABQ\r
EN 13508-2:2003+A1:2011,A,B,2026-04-09,10:15,A. Nobody,PI-26-7,C,27.4\r
#B03=ACA,ACB,ACC,ACD,ACG,ACJ,ACK,ACM,ADA\r
A,300,300,AG,1250,A,B,B,A\r
#C=I,J,A,B,C,D,E,G,H,K,M,N,F\r
0.00,,BCD,E,,,,,,,IMG1,00:00:04,Outfall\r
0.00,,BDD,A,,10,,,,,,00:00:08,\r
2.15,,BAJ,B,,9,,7,,A,IMG2,00:00:51,\r
5.30,A1,BAB,B,A,1.5,,11,1,,IMG3,00:01:40,\r
8.10,B1,BAB,B,A,2,,11,1,,,00:02:19,\r
11.75,,BCA,A,A,150,150,10,,,IMG4,00:03:02,\r
13.00,A2,BBC,B,,10,,5,7,,,00:03:30,"shells, then sand"\r
15.60,C2,BBC,B,,25,,4,8,,IMG5,00:04:11,\r
17.95,B2,BBC,B,,5,,5,7,,,00:04:50,\r
20.40,,BBA,B,,5,,12,12,A,IMG6,00:05:33,\r
27.40,,BCE,A,,,,,,,IMG7,00:07:02,CH-4\r
#Z\r
#B01=AAA,AAB,AAD,AAF,AAJ,AAK,AAN,AAM\r
K-22,CH-4,CH-4,CH-5,Saltmarsh Lane,B,Inventham,Parish of Inventham\r
#B02=ABA,ABC,ABE,ABF,ABG,ABH,ABJ,ABP,ABQ\r
EN 13508-2:2003+A1:2011,A,B,2026-04-09,11:40,A. Nobody,PI-26-7,C,40\r
#B03=ACA,ACB,ACC,ACD,ACG,ACJ,ACK,ACM,ADA\r
A,200,200,AX,3000,A,B,B,A\r
#C=I,J,A,B,C,D,E,G,H,K,M,N,F\r
0.00,,BCD,A,,,,,,,IMG8,00:00:03,CH-4\r
3.85,,BAA,A,,4,,,,,IMG9,00:00:47,\r
12.20,,BDC,A,,,,,,,IMG10,00:02:58,"bricks in the pipe, far chamber not reached"\r
#Z\r
"""
)


def one_run(rows, columns="I,J,A,B,C,D,E,G,H,K,M,F", header="#B01=AAA\r\nR1\r\n", head=HEAD):
    """A file of one run with these rows."""
    lines = "".join(f"{row}\r\n" for row in rows)
    return f"{head}{header}#C={columns}\r\n{lines}#Z\r\n".encode("latin-1")


def records(report):
    """The records that a report's entries fold to."""
    return fold(report.entries)


def of_kind(report, kind):
    """The fields of the records of a kind, in order of making."""
    return [r.fields for r in records(report) if r.kind == kind]


def bytes_of(inspections, **layout):
    """The file of inspections."""
    return exchange.compose(inspections, exchange.Layout(**layout)).data


def again(data, layout=None):
    """Read a file and write what it became."""
    found = exchange.inspections_of(records(exchange.read(data)))
    return exchange.compose(found.inspections, layout or exchange.Layout()).data

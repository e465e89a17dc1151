import sys
from fontTools import subset
from fontTools.ttLib import TTFont
src,dst,style,uni=sys.argv[1:5]
o=subset.Options(); o.layout_features=['kern','liga','mark','mkmk','ccmp','locl','tnum','lnum']; o.hinting=False; o.name_IDs=['*']; o.notdef_outline=True; o.recalc_timestamp=False
f=subset.load_font(src,o)
s=subset.Subsetter(o); s.populate(unicodes=subset.parse_unicodes(uni.replace('U+',''))); s.subset(f)
for n in list(f['name'].names):
    t=n.toUnicode()
    if n.nameID in (1,16,21): f['name'].setName('Coatwright Sans',n.nameID,n.platformID,n.platEncID,n.langID)
    elif n.nameID==4: f['name'].setName('Coatwright Sans '+style,4,n.platformID,n.platEncID,n.langID)
    elif n.nameID==6: f['name'].setName('CoatwrightSans-'+style,6,n.platformID,n.platEncID,n.langID)
    elif n.nameID==3: f['name'].setName('Coatwright Sans '+style,3,n.platformID,n.platEncID,n.langID)
    elif n.nameID in (0,13,14): pass
    elif n.nameID in (2,17): pass
    else: f['name'].removeNames(n.nameID)
f.save(dst)
